"""When something was said last: what decides when two histories meet."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta

from companion.history import edits
from companion.history.model import TakeSource
from companion.storage import words
from companion.storage.history_file import HistoryFile
from companion.storage.migrations import MIGRATIONS
from tests.unit.storage.history_examples import MOMENT, a_piece, a_take


def said(path):
    with closing(sqlite3.connect(path)) as connection:
        return {
            (subject, field): moment
            for subject, field, moment in connection.execute("SELECT * FROM words")
        }


def test_every_edit_of_a_take_is_remembered_with_its_moment(history, path):
    history.save_take(a_take())
    history.apply(edits.RenameTake("take", "", "evening"))
    history.apply(edits.AnnotateTake("take", "", "slower"))
    history.apply(edits.MarkMemory(("take",), from_memory=True))
    history.apply(edits.DeleteTakes(("take",)))
    history.apply(edits.MoveTake("take", "piece", None))
    fields = {field for subject, field in said(path) if subject == "take"}
    assert fields == {words.NAME, words.REMARK, words.MEMORY, words.BIN, words.FILING}


def test_a_word_never_goes_back_in_time(tmp_path):
    path = tmp_path / "history.sqlite3"
    clock = iter([MOMENT + timedelta(hours=2), MOMENT, MOMENT])
    with HistoryFile(path, now=lambda: next(clock)) as history:
        history.save_piece(a_piece())
        first = said(path)["piece", words.SHELF]
        history.take_off_shelf("piece")
        assert said(path)["piece", words.SHELF] > first


def test_an_imported_recording_is_wanted_from_the_moment_of_its_import(history, path):
    history.save_takes([a_take("heard"), a_take("imported", source=TakeSource.FILE)])
    assert ("imported", words.BIN) in said(path)
    assert ("heard", words.BIN) not in said(path)


def test_an_older_history_knows_when_takes_were_thrown_away(tmp_path):
    path = tmp_path / "history.sqlite3"
    with HistoryFile(path, migrations=MIGRATIONS[:2]) as _:
        pass
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(
            """
            INSERT INTO pieces VALUES ('p', '', '', 'h', '', '', NULL, '2026-01-01', NULL,
                '2026-02-02', '{}', '');
            INSERT INTO takes VALUES ('t', 'p', '2026-01-01', 'UTC', 'piano', 1, 1, '', '', '', 0,
                '', 'closed', '2026-03-03');
            """
        )
    HistoryFile(path).close()
    assert said(path) == {("p", words.SHELF): "2026-02-02", ("t", words.BIN): "2026-03-03"}
