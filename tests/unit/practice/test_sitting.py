import threading
from datetime import timedelta
from itertools import pairwise

import pytest

from companion.errors import HistoryUnavailable
from companion.history.edits import MarkMemory
from companion.history.fingerprints import fingerprint
from companion.history.model import TakeSource
from companion.listening.follower import Follower
from companion.listening.notes import Place
from companion.midi.listener import TimedMessage
from companion.practice.sitting import Sitting, SittingEvents
from companion.storage.history_file import HistoryFile
from companion.storage.journal import Journal
from tests.unit.practice.practice_examples import a_score, played
from tests.unit.storage.history_examples import MOMENT, a_piece, a_take

SOON_SECONDS = 10.0


class Told:
    def __init__(self):
        self.begun, self.notes, self.finished = [], [], []
        self.events = SittingEvents(
            on_take_begun=self.begun.append,
            on_note=lambda place, note: self.notes.append((place, note)),
            on_take_finished=self.finished.append,
        )


@pytest.fixture
def told():
    return Told()


@pytest.fixture
def journal(history):
    opened = Journal(history, interval_seconds=0.005, retry_seconds=0.01)
    yield opened
    opened.close()


@pytest.fixture
def sitting(told, journal):
    sitting = Sitting(told.events, journal=journal, zone="Europe/Berlin", now=lambda: MOMENT)
    sitting.instrument = "Digital piano"
    sitting.put_on_stand("piece")
    return sitting


def play(sitting, events, at=1000.0, source=TakeSource.PIANO):
    for event in events:
        sitting.hear(TimedMessage(at + event.at_seconds, event.message), source)


def test_a_take_begins_with_the_first_note_and_ends_with_a_silence(sitting, told, journal, history):
    events = played(a_score())
    play(sitting, events)
    assert sitting.in_take
    assert len(told.begun) == 1
    sitting.tick(1000.0 + events[-1].at_seconds + 3.9)
    assert told.finished == []
    sitting.tick(1000.0 + events[-1].at_seconds + 4.1)
    (take,) = told.finished
    assert not sitting.in_take
    assert take.events == pytest_events(events)
    assert (take.piece_id, take.zone, take.source) == ("piece", "Europe/Berlin", TakeSource.PIANO)
    assert (take.started_at, take.instrument, take.note_count) == (MOMENT, "Digital piano", 40)
    assert take.content_hash == fingerprint(events)
    assert journal.flush(SOON_SECONDS)
    assert history.take(take.take_id) == take


def pytest_events(events):
    """The events as they come out after the clock was added and taken away again."""
    return tuple(
        type(event)((1000.0 + event.at_seconds) - 1000.0, event.message) for event in events
    )


def test_notes_are_told_with_their_place_in_the_score(sitting, told):
    score = a_score()
    sitting.put_on_stand("piece", lambda: Follower(score.notes))
    sitting.wait_for_follower(SOON_SECONDS)
    play(sitting, played(score))
    assert len(told.notes) == 40
    places = [place for place, _ in told.notes if place is not None]
    assert len(places) > 30
    assert places[-1].measure_index == 7
    assert all(a.onset_quarters <= b.onset_quarters for a, b in pairwise(places[-20:]))


class CountingFollower:
    def __init__(self):
        self.heard, self.forgot = [], 0

    def forget(self):
        self.heard.clear()
        self.forgot += 1

    def hear(self, note):
        self.heard.append(note)
        return Place(
            onset_quarters=len(self.heard),
            measure_index=0,
            measure_offset_quarters=0,
            confidence=1.0,
            hands="both",
            quarters_per_minute=None,
            event="goes on",
        )


def test_a_follower_that_comes_late_hears_all_notes_of_the_take(sitting, told):
    follower, may_go_on = CountingFollower(), threading.Event()

    def make():
        may_go_on.wait(SOON_SECONDS)
        return follower

    sitting.put_on_stand("piece", make)
    events = played(a_score())
    play(sitting, events[:6])  # four strokes and two releases, or so
    early = len(told.notes)
    assert early > 1
    assert {place for place, _ in told.notes} == {None}
    may_go_on.set()
    sitting.wait_for_follower(SOON_SECONDS)
    play(sitting, events[6:])
    assert follower.heard == [note for _, note in told.notes]
    assert told.notes[early][0].onset_quarters == early + 1


def test_while_there_is_no_time_to_follow_everything_is_kept_and_caught_up_later(sitting, told):
    follower = CountingFollower()
    sitting.put_on_stand("piece", lambda: follower)
    sitting.wait_for_follower(SOON_SECONDS)
    events = played(a_score())
    for event in events[:20]:
        message = TimedMessage(1000.0 + event.at_seconds, event.message)
        sitting.hear(message, follow_until_seconds=0.0)  # long ago
    behind = len(told.notes)
    assert behind > 5
    assert {place for place, _ in told.notes} == {None}
    assert follower.heard == []
    play(sitting, events[20:])
    assert follower.heard == [note for _, note in told.notes]
    assert all(place is not None for place, _ in told.notes[behind:])


def test_far_behind_following_begins_anew_with_the_newest_note(sitting, told, monkeypatch):
    monkeypatch.setattr("companion.practice.sitting.MOST_NOTES_BEHIND", 4)
    follower = CountingFollower()
    sitting.put_on_stand("piece", lambda: follower)
    sitting.wait_for_follower(SOON_SECONDS)
    events = played(a_score())
    for event in events[:20]:
        message = TimedMessage(1000.0 + event.at_seconds, event.message)
        sitting.hear(message, follow_until_seconds=0.0)
    behind = len(told.notes)
    play(sitting, events[20:])
    notes = [note for _, note in told.notes]
    assert len(notes) == 40
    assert len(notes) - behind <= len(follower.heard) <= len(notes) - behind + 4
    assert follower.heard == notes[-len(follower.heard) :]


def test_each_take_begins_with_an_empty_memory(sitting):
    follower = CountingFollower()
    sitting.put_on_stand("piece", lambda: follower)
    sitting.wait_for_follower(SOON_SECONDS)
    events = played(a_score())
    play(sitting, events)
    sitting.finish()
    play(sitting, events, at=5000.0)
    assert follower.forgot == 2
    assert len(follower.heard) == 40


def test_another_piece_on_the_stand_ends_the_take_which_stays_with_its_own(sitting, told, history):
    history.save_piece(a_piece("other"))
    play(sitting, played(a_score()))
    sitting.put_on_stand("other")
    play(sitting, played(a_score()), at=3000.0)
    sitting.finish()
    assert [take.piece_id for take in told.finished] == ["piece", "other"]


def test_the_keyboard_on_the_screen_is_a_source_of_its_own(sitting, told):
    play(sitting, played(a_score()), source=TakeSource.SCREEN)
    sitting.finish()
    assert told.finished[0].source is TakeSource.SCREEN


def test_a_clock_of_the_wall_that_jumps_changes_no_length(told, journal):
    moments = iter([MOMENT, MOMENT - timedelta(days=400)])
    sitting = Sitting(told.events, journal=journal, zone="UTC", now=lambda: next(moments))
    for at in (1000.0, 2000.0):
        play(sitting, played(a_score()), at=at)
        sitting.finish()
    first, second = told.finished
    assert first.duration_seconds == pytest.approx(second.duration_seconds)
    assert second.started_at < first.started_at


def test_a_monotonic_clock_that_stumbles_does_not_turn_time_back(sitting, told):
    sitting.hear(TimedMessage(10.0, b"\x90\x3c\x50"))
    sitting.hear(TimedMessage(9.5, b"\x90\x40\x50"))
    sitting.hear(TimedMessage(10.2, b"\x90\x43\x50"))
    sitting.finish()
    seconds = [event.at_seconds for event in told.finished[0].events]
    assert seconds == sorted(seconds)
    assert seconds[0] == 0.0


def test_without_a_history_takes_wait_in_memory_until_there_is_one(told, history, journal):
    sitting = Sitting(told.events, journal=None, zone="UTC", now=lambda: MOMENT)
    sitting.put_on_stand("piece")
    play(sitting, played(a_score()))
    sitting.finish()
    assert sitting.takes_in_memory == tuple(told.finished)
    play(sitting, played(a_score())[:10], at=2000.0)
    sitting.keep_in(journal)
    assert sitting.takes_in_memory == ()
    assert journal.flush(SOON_SECONDS)
    assert history.take(told.finished[0].take_id) == told.finished[0]
    play(sitting, played(a_score())[10:], at=2000.0)
    sitting.finish()
    assert journal.flush(SOON_SECONDS)
    assert history.take(told.finished[1].take_id) == told.finished[1]


def heard_from_memory(sitting, told, *switched):
    """Whether a take is noted as from memory; its parts are played after these switches."""
    for number, on in enumerate(switched):
        if on is not None:
            sitting.set_from_memory(on)
        sitting_at = 1000.0 + number
        play(sitting, played(a_score())[:2], at=sitting_at)
    sitting.finish()
    return told.finished[-1].from_memory


@pytest.mark.parametrize(
    ("switched", "from_memory"),
    [
        ((True, None), True),
        ((True, False), False),
        ((False, True), False),
        ((None, None), False),
        ((True, False, True), False),
    ],
)
def test_a_take_is_from_memory_when_the_score_was_covered_from_the_first_key_to_the_last(
    sitting, told, switched, from_memory
):
    assert heard_from_memory(sitting, told, *switched) is from_memory
    assert len(told.finished) == 1


def test_who_looks_at_the_score_in_the_silence_behind_a_take_has_played_from_memory(sitting, told):
    sitting.set_from_memory(True)
    play(sitting, played(a_score())[:2])
    sitting.set_from_memory(False)
    sitting.finish()
    assert told.finished[0].from_memory
    assert not heard_from_memory(sitting, told, None)


def test_a_take_from_memory_is_kept_as_one(sitting, told, journal, history):
    assert heard_from_memory(sitting, told, True)
    assert journal.flush(SOON_SECONDS)
    assert history.take(told.finished[0].take_id).from_memory


def test_what_was_said_of_a_take_while_it_was_written_stays(journal, history):
    take = a_take(from_memory=False)
    open_take = journal.begin_take(take)
    assert journal.flush(SOON_SECONDS)
    history.apply(MarkMemory(("take",), from_memory=True))
    open_take.finish(take)
    assert journal.flush(SOON_SECONDS)
    assert history.take("take").from_memory


class BrokenHistory(HistoryFile):
    broken = True

    def begin_take(self, take):
        if self.broken:
            raise HistoryUnavailable("The disk is full.")
        super().begin_take(take)

    def save_take(self, take):
        if self.broken:
            raise HistoryUnavailable("The disk is full.")
        super().save_take(take)


def test_a_failing_disk_stops_neither_playing_nor_following(told, tmp_path):
    troubles, trouble_came = [], threading.Event()

    def on_trouble(sentence):
        troubles.append(sentence)
        trouble_came.set()

    with BrokenHistory(tmp_path / "history.sqlite3") as history:
        history.save_piece(a_piece())
        journal = Journal(
            history, on_trouble=on_trouble, interval_seconds=0.005, retry_seconds=0.01
        )
        sitting = Sitting(told.events, journal=journal, zone="UTC", now=lambda: MOMENT)
        sitting.put_on_stand("piece", lambda: Follower(a_score().notes))
        sitting.wait_for_follower(SOON_SECONDS)
        play(sitting, played(a_score()))
        assert trouble_came.wait(SOON_SECONDS)
        sitting.finish()
        assert len(told.notes) == 40
        assert journal.unsaved_takes == 1
        history.broken = False
        assert journal.flush(SOON_SECONDS)
        assert history.take(told.finished[0].take_id) == told.finished[0]
        assert troubles == ["The disk is full."]
        journal.close()
