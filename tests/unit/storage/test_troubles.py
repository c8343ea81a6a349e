import os
import random
import sqlite3
from contextlib import closing
from types import SimpleNamespace

import pytest

from companion.errors import HistoryDamaged, HistoryInUse, HistoryUnavailable
from companion.storage import connections
from companion.storage.backups import back_up, newest_sound_backup, restore_backup
from companion.storage.history_file import HistoryFile
from companion.storage.trouble import sentence_for
from tests.unit.storage.history_examples import MOMENT, a_piece, a_take, some_events


@pytest.fixture
def kept_history(path):
    """A history with forty takes, closed, and yesterday's copy of it with one take less."""
    with HistoryFile(path, now=lambda: MOMENT) as history:
        history.save_piece(a_piece())
        for number in range(39):
            history.save_take(a_take(f"take {number}", events=some_events(50)))
        back_up(path, MOMENT.date())
        history.save_take(a_take("take 39", events=some_events(50)))
    return path


def read_all(path):
    with HistoryFile(path) as history:
        return [history.take(take.take_id) for take in history.takes_of("piece")]


def test_a_file_that_is_no_database_is_called_damaged_and_kept(path):
    path.write_text("not a database at all, but long enough to look like a file " * 20)
    before = path.read_bytes()
    with pytest.raises(HistoryDamaged, match="damaged and cannot be read"):
        HistoryFile(path)
    assert path.read_bytes() == before


def test_a_file_broken_in_the_middle_is_called_damaged_when_it_is_read(kept_history):
    broken = bytearray(kept_history.read_bytes())
    rng = random.Random(5)
    for at in range(8192, len(broken)):
        broken[at] = rng.randrange(256)
    kept_history.write_bytes(broken)
    with pytest.raises(HistoryDamaged) as damaged:
        read_all(kept_history)
    assert damaged.value.path == kept_history


def test_a_damaged_history_costs_no_older_copy_when_it_is_backed_up(kept_history):
    broken = bytearray(kept_history.read_bytes())
    broken[4096:] = b"\x55" * (len(broken) - 4096)
    kept_history.write_bytes(broken)
    before = newest_sound_backup(kept_history)
    with pytest.raises(HistoryDamaged):
        back_up(kept_history, MOMENT.date().replace(day=20))
    assert [copy.name for copy in before.parent.iterdir()] == [before.name]


def test_the_last_good_copy_takes_the_place_of_a_damaged_history_which_is_kept(kept_history):
    kept_history.write_bytes(b"rubbish" * 1000)
    backup = newest_sound_backup(kept_history)
    aside = restore_backup(kept_history, backup, MOMENT)
    assert aside.read_bytes() == b"rubbish" * 1000
    assert aside.name == "history-set-aside-2026-03-02-173000.sqlite3"
    with HistoryFile(kept_history) as history:
        assert len(history.takes_of("piece")) == 39


def test_restoring_twice_in_one_second_keeps_both_old_files(kept_history):
    backup = newest_sound_backup(kept_history)
    first = restore_backup(kept_history, backup, MOMENT)
    second = restore_backup(kept_history, backup, MOMENT)
    assert first != second
    assert first.exists()
    assert second.exists()


def test_a_broken_copy_is_not_offered_and_not_restored(kept_history):
    good = newest_sound_backup(kept_history)
    broken = good.with_name("history-2026-03-03.sqlite3")
    broken.write_bytes(good.read_bytes()[:6000])
    assert newest_sound_backup(kept_history) == good
    with pytest.raises(HistoryDamaged):
        restore_backup(kept_history, broken, MOMENT)
    with HistoryFile(kept_history) as history:
        assert len(history.takes_of("piece")) == 40


def test_changes_that_are_only_in_the_log_beside_the_file_are_set_aside_with_it(kept_history):
    with closing(sqlite3.connect(kept_history)) as other:
        other.execute("PRAGMA wal_autocheckpoint = 0")
        other.execute("UPDATE takes SET name = 'only in the log'")
        other.commit()
        log = kept_history.with_name(kept_history.name + "-wal")
        assert log.stat().st_size > 0
        aside = restore_backup(kept_history, newest_sound_backup(kept_history), MOMENT)
    with HistoryFile(kept_history) as history:
        assert {take.name for take in history.takes_of("piece")} == {""}
    with HistoryFile(aside) as history:
        assert {take.name for take in history.takes_of("piece")} == {"only in the log"}


def test_a_full_disk_is_told_in_a_sentence_and_leaves_the_history_whole(path, monkeypatch):
    opened = []
    unlimited = connections.open_connection

    def limited(where):
        connection = unlimited(where)
        opened.append(connection)
        return connection

    monkeypatch.setattr(connections, "open_connection", limited)
    with HistoryFile(path) as history:
        history.save_piece(a_piece())
        history.save_take(a_take("before"))
        # SQLite then reports what it reports on a full disk: SQLITE_FULL
        pages = opened[0].execute("PRAGMA page_count").fetchone()[0]
        opened[0].execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(HistoryUnavailable, match="disk is full") as told:
            history.save_take(a_take("long", events=some_events(60) * 300))
        assert "kept until it can be written" in str(told.value)
        assert history.take("long") is None
        opened[0].execute("PRAGMA max_page_count = 1000000")
        history.save_take(a_take("long", events=some_events(60) * 300))
        assert history.take("before") == a_take("before")


@pytest.mark.parametrize(("free", "words"), [(0, "disk is full"), (1 << 30, "does not answer")])
def test_a_disk_that_fails_is_told_apart_from_one_that_is_full(path, monkeypatch, free, words):
    monkeypatch.setattr(
        "companion.storage.trouble.shutil.disk_usage",
        lambda _path: SimpleNamespace(total=1, used=1, free=free),
    )
    error = sqlite3.OperationalError("disk I/O error")
    error.sqlite_errorcode = sqlite3.SQLITE_IOERR_SHMSIZE
    assert words in str(sentence_for(error, path))


def test_a_lock_of_another_program_is_waited_for_and_then_told(path, monkeypatch):
    monkeypatch.setattr(connections, "BUSY_TIMEOUT_SECONDS", 0.05)
    with HistoryFile(path) as history, closing(sqlite3.connect(path)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(HistoryInUse, match="close it and try again"):
            history.save_piece(a_piece())
        other.rollback()
        history.save_piece(a_piece())


@pytest.mark.skipif(os.geteuid() == 0, reason="the system administrator may write everywhere")
def test_a_read_only_folder_is_told_in_a_sentence(tmp_path):
    folder = tmp_path / "locked"
    folder.mkdir(mode=0o555)
    with pytest.raises(HistoryUnavailable, match="cannot be used"):
        HistoryFile(folder / "history.sqlite3")


def test_a_history_that_may_not_be_written_is_told_in_a_sentence(kept_history, monkeypatch):
    writable = connections.open_connection

    def read_only(where):
        connection = writable(where)
        connection.execute("PRAGMA query_only = ON")
        return connection

    monkeypatch.setattr(connections, "open_connection", read_only)
    with HistoryFile(kept_history) as history:
        with pytest.raises(HistoryUnavailable, match="only be read, not written"):
            history.save_take(a_take("more"))
        assert len(history.takes_of("piece")) == 40


def test_a_folder_in_the_place_of_the_file_is_told_in_a_sentence(path):
    path.mkdir()
    with pytest.raises(HistoryUnavailable, match="cannot be opened or created"):
        HistoryFile(path)


def test_a_file_in_the_place_of_the_folder_is_told_in_a_sentence(tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(HistoryUnavailable, match="cannot be used"):
        HistoryFile(tmp_path / "file" / "history.sqlite3")
