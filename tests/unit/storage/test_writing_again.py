"""The file of the history goes, or is exchanged for another, while it is open."""

from __future__ import annotations

import shutil
import sqlite3
import threading
from contextlib import closing

import pytest

from companion.errors import HistoryUnavailable
from companion.storage.history_file import HistoryFile
from tests.unit.storage.history_examples import a_piece


def test_a_file_that_is_deleted_while_it_is_open_is_written_again_with_all_that_was_in_it(tmp_path):
    path, told = tmp_path / "history" / "history.sqlite3", []
    with HistoryFile(path) as history:
        history.when_written_again(lambda: told.append("told"))
        history.save_piece(a_piece("one"))
        shutil.rmtree(path.parent)
        history.save_piece(a_piece("two"))
        assert told == ["told"]
        other = []
        thread = threading.Thread(target=lambda: other.extend(history.shelf()))
        thread.start()
        thread.join(30)
        assert len(other) == 2
    with HistoryFile(path) as again:
        assert {piece.piece_id for piece in again.shelf()} == {"one", "two"}


def test_the_log_of_a_deleted_file_is_not_taken_for_that_of_the_new_one(tmp_path):
    path = tmp_path / "history.sqlite3"
    with HistoryFile(path) as history:
        history.save_piece(a_piece("one"))
        path.unlink()  # the log beside it stays
        history.save_piece(a_piece("two"))
        assert len(history.shelf()) == 2
    with closing(sqlite3.connect(path)) as file:
        assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_thread_that_first_reads_when_the_file_has_gone_reads_all_of_it(tmp_path):
    path, found = tmp_path / "history.sqlite3", []
    with HistoryFile(path) as history:
        history.save_piece(a_piece("one"))
        path.rename(tmp_path / "elsewhere")
        thread = threading.Thread(target=lambda: found.extend(history.shelf()))
        thread.start()
        thread.join(30)
        assert [piece.piece_id for piece in found] == ["one"]


def test_another_file_in_its_place_is_told_and_not_written_to(tmp_path):
    path, other = tmp_path / "history.sqlite3", tmp_path / "other.sqlite3"
    HistoryFile(other).close()
    with HistoryFile(path) as history:
        history.save_piece(a_piece("one"))
        other.replace(path)
        with pytest.raises(HistoryUnavailable, match="Another file was put in the place"):
            history.save_piece(a_piece("two"))
        assert len(history.shelf()) == 1
    (aside,) = tmp_path.glob("history-set-aside-*")
    with HistoryFile(aside) as kept:
        assert [piece.piece_id for piece in kept.shelf()] == ["one"]
    with closing(sqlite3.connect(path)) as file:
        assert file.execute("SELECT count(*) FROM pieces").fetchone() == (0,)
