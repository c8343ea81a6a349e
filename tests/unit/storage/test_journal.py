import threading

import pytest

from companion.errors import HistoryUnavailable
from companion.storage.history_file import HistoryFile
from companion.storage.journal import Journal
from tests.unit.storage.history_examples import a_piece, a_take, some_events

SOON_SECONDS = 10.0  # how long a test waits at most for another thread


class Told:
    """What the journal told, with an event for each to wait for."""

    def __init__(self):
        self.saved, self.troubles, self.recoveries = [], [], 0
        self.trouble_came, self.recovery_came = threading.Event(), threading.Event()

    def on_trouble(self, sentence):
        self.troubles.append(sentence)
        self.trouble_came.set()

    def on_recovered(self):
        self.recoveries += 1
        self.recovery_came.set()


class FailingHistory(HistoryFile):
    """A history on a disk that can be made to fail before or after it has written."""

    failing = ""

    def _fail(self, when):
        if self.failing == when:
            raise HistoryUnavailable("The disk is full.")

    def begin_take(self, take):
        self._fail("before")
        super().begin_take(take)

    def write_chunk(self, take_id, chunk, events):
        self._fail("before")
        super().write_chunk(take_id, chunk, events)
        self._fail("after")

    def save_take(self, take):
        self._fail("before")
        super().save_take(take)
        self._fail("after")


@pytest.fixture
def failing_history(path):
    with FailingHistory(path) as opened:
        opened.save_piece(a_piece())
        yield opened


@pytest.fixture
def told():
    return Told()


@pytest.fixture
def journal(failing_history, told):
    opened = Journal(
        failing_history,
        on_saved=told.saved.append,
        on_trouble=told.on_trouble,
        on_recovered=told.on_recovered,
        interval_seconds=0.005,
        retry_seconds=0.01,
    )
    yield opened
    opened.close()


def begun(journal):
    return journal.begin_take(a_take(events=(), duration_seconds=0.0, note_count=0))


def test_what_is_played_is_on_the_disk_before_the_take_ends(journal, failing_history):
    open_take = begun(journal)
    open_take.append(some_events(4)[:3])
    open_take.append(some_events(4)[3:6])
    assert journal.flush(SOON_SECONDS)
    assert failing_history.take("take").events == some_events(4)[:6]
    assert failing_history.takes_of("piece") == ()


def test_a_finished_take_is_told_once_it_is_safe(journal, failing_history, told):
    open_take = begun(journal)
    open_take.append(some_events(4))
    open_take.finish(a_take())
    assert journal.flush(SOON_SECONDS)
    assert told.saved == [a_take()]
    assert failing_history.take("take") == a_take()
    assert journal.unsaved_takes == 0


@pytest.mark.parametrize("when", ["before", "after"])
def test_while_the_disk_fails_everything_is_kept_and_written_later(
    journal, failing_history, told, when
):
    open_take = begun(journal)
    open_take.append(some_events(4)[:2])
    assert journal.flush(SOON_SECONDS)
    failing_history.failing = when
    open_take.append(some_events(4)[2:])
    assert told.trouble_came.wait(SOON_SECONDS)
    open_take.finish(a_take())
    another = journal.begin_take(a_take("another", events=()))
    another.append(some_events(3))
    assert not journal.flush(0.05)
    assert journal.unsaved_takes == 1
    failing_history.failing = ""
    assert told.recovery_came.wait(SOON_SECONDS)
    assert journal.flush(SOON_SECONDS)
    assert failing_history.take("take") == a_take()
    assert failing_history.take("another").events == some_events(3)
    assert told.troubles == ["The disk is full."]  # told once, not at every attempt
    assert told.recoveries == 1
    assert told.saved == [a_take()]


def test_a_chunk_that_reached_the_disk_in_spite_of_an_error_is_not_doubled(
    journal, failing_history, told
):
    open_take = begun(journal)
    failing_history.failing = "after"
    open_take.append(some_events(4)[:4])
    assert told.trouble_came.wait(SOON_SECONDS)
    open_take.append(some_events(4)[4:])
    failing_history.failing = ""
    assert told.recovery_came.wait(SOON_SECONDS)
    assert journal.flush(SOON_SECONDS)
    assert failing_history.take("take").events == some_events(4)


def test_closing_writes_what_is_left(journal, failing_history):
    open_take = begun(journal)
    open_take.append(some_events(4))
    open_take.finish(a_take())
    assert journal.close()
    assert failing_history.take("take") == a_take()


def test_closing_tells_when_something_could_not_be_written(journal, failing_history):
    failing_history.failing = "before"
    begun(journal).finish(a_take())
    assert not journal.close()


def test_a_bug_in_the_program_does_not_end_the_journal(journal, failing_history, told, monkeypatch):
    save, broken = failing_history.save_take, threading.Event()

    def save_unless_broken(take):
        if take.take_id == "stray" and broken.is_set():
            raise TypeError("a bug")
        save(take)

    broken.set()
    monkeypatch.setattr(failing_history, "save_take", save_unless_broken)
    stray = a_take("stray")
    journal.begin_take(stray).finish(stray)
    assert told.trouble_came.wait(SOON_SECONDS)
    assert "cannot be saved" in told.troubles[0]
    begun(journal).finish(a_take())  # and does not keep back other takes
    while failing_history.take("take") is None:
        threading.Event().wait(0.005)
    broken.clear()
    assert told.recovery_came.wait(SOON_SECONDS)
    assert failing_history.take("stray") == stray


def test_a_take_that_is_played_is_written_from_its_beginning_into_another_file(
    journal, failing_history, tmp_path
):
    open_take = begun(journal)
    open_take.append(some_events(2))
    assert journal.flush(SOON_SECONDS)
    with journal.held():
        failing_history.go_on_with(tmp_path / "another.sqlite3")
    open_take.append(some_events(3))
    assert journal.flush(SOON_SECONDS)
    (recovered,) = failing_history.recover_open_takes()  # as if the program had ended here
    assert recovered.events == (*some_events(2), *some_events(3))
    assert recovered.piece_id is None  # the other file does not know the piece


def test_takes_that_could_not_be_written_are_handed_out_when_the_journal_is_closed(
    journal, failing_history
):
    failing_history.failing = "before"
    begun(journal).finish(a_take())
    journal.begin_take(a_take("cut off", events=())).append(some_events())
    assert not journal.close()
    finished, cut_off = journal.unsaved()
    assert finished == a_take()
    assert (cut_off.take_id, cut_off.events) == ("cut off", some_events())


def test_handing_over_does_not_wait_for_the_disk(journal, failing_history):
    with failing_history._connections.writing():  # a long import holds the file
        open_take = begun(journal)
        open_take.append(some_events(4))
        open_take.finish(a_take())
    assert journal.flush(SOON_SECONDS)
    assert failing_history.take("take") == a_take()
