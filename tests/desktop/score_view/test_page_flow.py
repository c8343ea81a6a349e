"""Where sheets lie and how large they are drawn."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.desktop.score_view.page_flow import (
    GAP,
    Fit,
    extent,
    fitting_pixels_per_space,
    lay_out,
    whole_pixels,
)

A4 = (210 / 1.8, 297 / 1.8)


@given(st.integers(1, 40), st.integers(1, 3))
def test_sheets_never_overlap_and_stay_on_the_desk(count: int, columns: int):
    boxes = lay_out([A4] * count, columns)
    width, height = extent(boxes)
    for index, box in enumerate(boxes):
        assert box.right <= width
        assert box.bottom <= height
        for other in boxes[index + 1 :]:
            apart = other.x >= box.right + GAP - 1e-6 or other.y >= box.bottom + GAP - 1e-6
            assert apart or other.right <= box.x


@pytest.mark.parametrize("columns", [1, 2], ids=["one sheet", "two sheets"])
def test_fit_to_page_fits_both_ways(columns: int):
    pixels = fitting_pixels_per_space(Fit.PAGE, A4, columns, (1500.0, 900.0))
    assert pixels * A4[1] <= 900
    assert pixels * A4[0] * columns <= 1500


@given(st.floats(0.1, 500))
def test_zoom_is_a_whole_number_of_pixels_within_limits(wish: float):
    pixels = whole_pixels(wish)
    assert isinstance(pixels, int)
    assert 3 <= pixels <= 60
    assert pixels <= wish or pixels == 3
