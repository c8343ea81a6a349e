"""Readiness from a history, and what a take means for the steps of a check."""

from dataclasses import replace
from random import Random

import pytest

from companion.history.knowing.standing import FromMemory
from companion.history.model import RawEvent
from companion.history.readiness.check import hear, skip
from companion.history.readiness.check_steps import CheckKind
from companion.history.readiness.words import memory_in_words
from companion.listening.notes import HeardNote
from companion.practice.planning.document import PlanChoices
from companion.practice.readiness.checking import begin_check, check_take, start_places
from companion.practice.readiness.estimate import notes_of_sections, piece_readiness
from companion.practice.results import work_out_take
from companion.storage.history_file import HistoryFile
from tests.unit.practice.played_days import DOWN, TODAY, UP, asked, play
from tests.unit.practice.practice_examples import a_map, a_score
from tests.unit.storage.history_examples import a_piece, a_take, some_events


@pytest.fixture
def history(tmp_path):
    with HistoryFile(tmp_path / "history.sqlite3") as history:
        history.save_piece(a_piece())
        yield history


def test_clean_runs_make_ready_and_stops_do_not(history):
    for day in range(-6, 0):
        play(history, f"day {day}", day, UP, DOWN)
    good = piece_readiness(history, asked())
    assert good.readiness.run_throughs.count == good.readiness.run_throughs.without_stop == 6
    assert good.cold_today
    play(history, "today", 0, UP, DOWN, stops=2)
    worse = piece_readiness(history, asked())
    assert not worse.cold_today
    assert worse.readiness.no_stop.probability < good.readiness.no_stop.probability
    assert worse.readiness.run_throughs.without_stop == 6


def test_without_a_take_nothing_is_claimed(history):
    found = piece_readiness(history, asked())
    assert found.readiness.no_stop.count == 0
    assert not found.all_known


def test_of_a_piece_to_be_played_from_memory_it_is_told_what_was_tried_so(history):
    by_heart = asked(choices=PlanChoices(from_memory=True))
    play(history, "with the score", -2, UP, DOWN)
    found = piece_readiness(history, by_heart)
    tried = [each.from_memory.tried for each in found.standings]
    assert tried == [0, 0]
    (sentence,) = memory_in_words(found.by_heart, tried)
    assert sentence.endswith("the estimate knows only takes with the score.")
    with_the_score = piece_readiness(history, asked())
    assert with_the_score.readiness == found.readiness
    assert memory_in_words(with_the_score.by_heart, tried) == ()

    play(history, "by heart", -1, UP, from_memory=True)
    play(history, "by heart, stopped", 0, UP, stops=2, from_memory=True)
    found = piece_readiness(history, by_heart)
    up, down = (each.from_memory for each in found.standings)
    assert (up.tried, up.clean, up.last_day) == (2, 1, TODAY)
    assert down == FromMemory()
    assert memory_in_words(found.by_heart, (up.tried, down.tried)) == ()


def test_notes_are_counted_in_their_sections():
    assert notes_of_sections(asked()) == (20, 20)  # sixteen of the melody, four of the bass


def test_starts_are_downbeats_with_a_note_of_their_own():
    score = a_score()
    silent = tuple(note for note in score.notes if note.onset_quarters != 8)
    places = start_places(replace(score, notes=silent), a_map().sections)
    # measure 3 begins with a rest; the last measure is too near the end for two measures
    assert [place.measure_index for place in places] == [0, 1, 3, 4, 5, 6]
    assert [place.opens_section for place in places] == [True, False, False, True, False, False]


def check(**changes):
    return begin_check(asked(**changes), 7, cold=True, with_harmony=False)


def played(first_measure, last_measure, *, slip_at=None):
    """Events of the measures as written, at 120 quarters a minute, and the take."""
    notes = [
        note for note in a_score().notes if first_measure <= note.measure_index <= last_measure
    ]
    begin = min(note.onset_quarters for note in notes)
    heard = [
        HeardNote(
            onset_seconds=float(note.onset_quarters - begin) / 2,
            duration_seconds=0.4 * float(note.duration_quarters),
            pitch=note.pitch + (1 if number == slip_at else 0),
            velocity=64,
        )
        for number, note in enumerate(notes)
    ]
    events = []
    for note in heard:
        events.append(RawEvent(note.onset_seconds, bytes([0x90, note.pitch, 64])))
        events.append(
            RawEvent(note.onset_seconds + note.duration_seconds, bytes([0x80, note.pitch, 64]))
        )
    take = a_take(events=tuple(sorted(events, key=lambda event: event.at_seconds)))
    worked = work_out_take(a_score(), a_map(), take, "basis")
    return check_take(asked(), take, worked)


def test_a_run_through_passes_the_first_step():
    after = hear(check(), played(0, 7))
    assert [result.passed for result in after.results] == [True]
    assert after.results[0].says == "Through without a stop, 0 slips."


def test_a_start_is_right_when_its_first_two_measures_are():
    begun = skip(check())
    step = begun.next_step
    assert step.kind is CheckKind.START
    first = step.measure_index
    last = min(first + 3, 7)
    right = played(first, last)
    assert (right.first_measure_index, right.opening_errors) == (first, 0)
    assert hear(begun, right).results[-1].passed
    wrong = played(first, last, slip_at=2)
    assert wrong.opening_errors == 1
    assert hear(begun, wrong).results[-1].passed is False


def test_a_start_that_breaks_off_is_not_passed():
    short = played(4, 4)
    assert short.opening_errors is None


def test_a_take_of_something_else_is_no_step():
    take = a_take(events=some_events(3, first_key=30))
    worked = work_out_take(a_score(), a_map(), take, "basis")
    heard = check_take(asked(), take, worked)
    begun = check()
    assert heard is None or hear(begun, heard) is begun


def test_the_same_seed_draws_the_same_check():
    memory = PlanChoices(from_memory=True)
    for seed in Random(1).sample(range(1000), 5):
        one, other = (
            begin_check(asked(choices=memory), seed, cold=True, with_harmony=True) for _ in range(2)
        )
        assert one == other
        assert {CheckKind.MEMORY, CheckKind.RECITE} <= {step.kind for step in one.steps}
