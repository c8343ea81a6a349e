"""Shares as whole per cent never seem to reach what they do not reach."""

import pytest

from companion.desktop.percent import percent


@pytest.mark.parametrize(
    ("share", "written"),
    [(1.0, "100 %"), (0.9999, "99 %"), (0.979, "97 %"), (0.98, "98 %"), (0.29, "29 %"), (0, "0 %")],
)
def test_share_is_rounded_down(share, written):
    assert percent(share) == written
