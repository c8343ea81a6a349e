"""Going on with another file under the same object, while threads are at work on it."""

from __future__ import annotations

import threading

import pytest

from companion.errors import HistoryDamaged, HistoryInUse, HistoryUnavailable
from companion.storage import connections
from companion.storage.backups import back_up, newest_sound_backup, restore_backup
from companion.storage.history_file import HistoryFile
from tests.unit.storage.history_examples import MOMENT, a_piece, a_take, some_events

SOON_SECONDS = 10.0


@pytest.fixture
def history(path):
    with HistoryFile(path) as opened:
        opened.save_piece(a_piece())
        opened.save_take(a_take("before"))
        yield opened


def in_a_thread(act):
    found = []
    thread = threading.Thread(target=lambda: found.append(act()))
    thread.start()
    thread.join(SOON_SECONDS)
    return found[0]


def test_every_thread_goes_on_with_the_other_file(history, tmp_path):
    with HistoryFile(tmp_path / "other.sqlite3") as other:
        other.save_piece(a_piece())
        other.save_take(a_take("elsewhere"))
    ready, go_on, found = threading.Event(), threading.Event(), []

    def read_twice():
        found.append(history.take_ids())
        ready.set()
        go_on.wait(SOON_SECONDS)
        found.append(history.take_ids())

    reader = threading.Thread(target=read_twice)
    reader.start()
    assert ready.wait(SOON_SECONDS)
    history.go_on_with(tmp_path / "other.sqlite3")
    go_on.set()
    reader.join(SOON_SECONDS)
    assert found == [("before",), ("elsewhere",)]
    assert history.take_ids() == ("elsewhere",)


def test_the_file_that_was_left_is_free_and_the_other_is_held(history, path, tmp_path):
    history.go_on_with(tmp_path / "other.sqlite3")
    with HistoryFile(path) as again:
        assert again.take_ids() == ("before",)
    with pytest.raises(HistoryInUse):
        HistoryFile(tmp_path / "other.sqlite3")


def test_a_damaged_file_is_exchanged_for_its_copy_in_place(history, path):
    back_up(path, MOMENT.date())
    history.save_take(a_take("later"))
    copy = newest_sound_backup(path)
    history.go_on_with(path, lambda: restore_backup(path, copy, MOMENT))
    assert history.take_ids() == ("before",)
    assert in_a_thread(history.take_ids) == ("before",)
    history.save_take(a_take("after"))
    assert set(history.take_ids()) == {"before", "after"}


def test_what_cannot_be_opened_leaves_everything_as_it_was(history, path, tmp_path):
    (tmp_path / "no history.sqlite3").write_text("something else entirely " * 200)
    with pytest.raises(HistoryDamaged):
        history.go_on_with(tmp_path / "no history.sqlite3")
    assert history.path == path
    history.save_take(a_take("after"))
    assert set(history.take_ids()) == {"before", "after"}
    with pytest.raises(HistoryInUse):
        HistoryFile(path)


def test_a_copy_that_cannot_be_written_leaves_the_file_as_it_was(history, path, monkeypatch):
    back_up(path, MOMENT.date())
    copy = newest_sound_backup(path)

    def full_disk(*_):
        raise HistoryUnavailable("The disk is full.")

    monkeypatch.setattr("companion.storage.backups.copy_soundly", full_disk)
    with pytest.raises(HistoryUnavailable, match="disk is full"):
        history.go_on_with(path, lambda: restore_backup(path, copy, MOMENT))
    assert history.take_ids() == ("before",)
    assert not list(path.parent.glob("*set-aside*"))


def test_an_exchange_waits_for_the_thread_that_is_writing(history, tmp_path):
    inside, done = threading.Event(), threading.Event()

    def write_slowly():
        with history._connections.writing():
            inside.set()
            done.wait(SOON_SECONDS)

    writer = threading.Thread(target=write_slowly)
    writer.start()
    assert inside.wait(SOON_SECONDS)
    exchange = threading.Thread(target=history.go_on_with, args=(tmp_path / "other.sqlite3",))
    exchange.start()
    exchange.join(0.05)
    assert exchange.is_alive()
    done.set()
    exchange.join(SOON_SECONDS)
    writer.join(SOON_SECONDS)
    assert history.path == tmp_path / "other.sqlite3"


def test_a_thread_that_never_ends_is_not_waited_for_for_ever(history, path, tmp_path, monkeypatch):
    monkeypatch.setattr(connections, "EXCHANGE_SECONDS", 0.02)
    inside, done = threading.Event(), threading.Event()

    def read_slowly():
        with history._connections.reading():
            inside.set()
            done.wait(SOON_SECONDS)

    reader = threading.Thread(target=read_slowly)
    reader.start()
    assert inside.wait(SOON_SECONDS)
    with pytest.raises(HistoryUnavailable, match="Try again"):
        history.go_on_with(tmp_path / "other.sqlite3")
    done.set()
    reader.join(SOON_SECONDS)
    assert history.path == path
    assert history.take_ids() == ("before",)


def test_damage_is_told_by_whoever_meets_it(path):
    with HistoryFile(path) as history:
        history.save_piece(a_piece())
        for number in range(100):
            history.save_take(a_take(f"take {number}", events=some_events(50)))
    damaged = bytearray(path.read_bytes())
    damaged[-(10 << 12) :] = b"\x55" * (10 << 12)  # pages of events; the tables are in front
    path.write_bytes(damaged)
    told = threading.Event()
    with HistoryFile(path) as history:
        history.when_damaged(told.set)
        assert not told.is_set()
        with pytest.raises(HistoryDamaged):
            [history.take(take_id) for take_id in history.take_ids()]
        assert told.is_set()
        told.clear()
        with pytest.raises(HistoryDamaged):
            history.back_up(MOMENT.date())
        assert told.is_set()
