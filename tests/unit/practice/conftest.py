from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.storage.history_file import HistoryFile
from tests.unit.storage.history_examples import MOMENT, a_piece


@pytest.fixture
def history(tmp_path: Path) -> Iterator[HistoryFile]:
    with HistoryFile(tmp_path / "data" / "history.sqlite3", now=lambda: MOMENT) as opened:
        opened.save_piece(a_piece())
        yield opened
