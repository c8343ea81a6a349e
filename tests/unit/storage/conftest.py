from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.storage.history_file import HistoryFile
from tests.unit.storage.history_examples import MOMENT, a_piece


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "history.sqlite3"


@pytest.fixture
def history(path: Path) -> Iterator[HistoryFile]:
    with HistoryFile(path, now=lambda: MOMENT) as opened:
        opened.save_piece(a_piece())
        yield opened
