import hashlib
import sqlite3
from contextlib import closing

import pytest

from companion.errors import HistoryTooNew, HistoryUnavailable
from companion.storage.history_file import HistoryFile
from companion.storage.migrations import MIGRATIONS, format_of
from tests.unit.storage.history_examples import a_piece, a_take


def tables_and_rows(path):
    with closing(sqlite3.connect(path)) as connection:
        return list(connection.iterdump())


def user_version(path):
    with closing(sqlite3.connect(path)) as connection:
        return format_of(connection)


@pytest.fixture
def old_history(path):
    with HistoryFile(path) as history:
        history.save_piece(a_piece())
        history.save_take(a_take())
    return path


def add_mood(connection):
    connection.execute("ALTER TABLE takes ADD COLUMN mood TEXT NOT NULL DEFAULT ''")


def stumble(connection):
    connection.execute("ALTER TABLE takes ADD COLUMN half_done TEXT")
    connection.execute("UPDATE takes SET name = 'spoilt'")
    raise RuntimeError("the step has a bug")


def test_a_new_file_gets_the_newest_format(path):
    HistoryFile(path).close()
    assert user_version(path) == len(MIGRATIONS)


def test_an_older_file_is_brought_up_to_date_and_copied_before(old_history):
    before = tables_and_rows(old_history)
    with HistoryFile(old_history, migrations=(*MIGRATIONS, add_mood)) as history:
        assert history.take("take") == a_take()
    assert user_version(old_history) == len(MIGRATIONS) + 1
    (copy,) = (old_history.parent / "backups").iterdir()
    assert tables_and_rows(copy) == before


def test_a_step_that_fails_leaves_the_file_as_it_was(old_history):
    before = tables_and_rows(old_history)
    with pytest.raises(RuntimeError, match="has a bug"):
        HistoryFile(old_history, migrations=(*MIGRATIONS, stumble))
    assert tables_and_rows(old_history) == before
    assert user_version(old_history) == len(MIGRATIONS)
    with HistoryFile(old_history) as history:  # and it is not locked
        assert history.take("take") == a_take()


def test_steps_before_a_failing_one_are_kept(old_history):
    with pytest.raises(RuntimeError):
        HistoryFile(old_history, migrations=(*MIGRATIONS, add_mood, stumble))
    assert user_version(old_history) == len(MIGRATIONS) + 1
    with HistoryFile(old_history, migrations=(*MIGRATIONS, add_mood)) as history:
        assert history.take("take") == a_take()


def test_a_newer_file_is_refused_and_not_a_byte_of_it_changed(old_history):
    with closing(sqlite3.connect(old_history)) as connection:
        connection.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 3}")
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    before = hashlib.sha256(old_history.read_bytes()).hexdigest()
    with pytest.raises(HistoryTooNew, match="newer version of this program") as refused:
        HistoryFile(old_history)
    assert (refused.value.found, refused.value.known) == (len(MIGRATIONS) + 3, len(MIGRATIONS))
    assert hashlib.sha256(old_history.read_bytes()).hexdigest() == before


def test_the_file_of_another_program_is_refused_and_kept(path):
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE recipes (title TEXT)")
        connection.commit()
    before = path.read_bytes()
    with pytest.raises(HistoryUnavailable, match="not a practice history"):
        HistoryFile(path)
    assert path.read_bytes() == before
