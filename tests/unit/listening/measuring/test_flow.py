"""Hesitations, stops, restarts: when the rule fires and when it is suspended."""

from dataclasses import replace

import pytest

from companion.listening.measuring.flow import InterruptionKind
from companion.listening.measuring.measures import measure_take
from companion.score.model import Position
from tests.unit.listening.playing import Performance, invented_score, map_of

SCORE = invented_score(8)


def interruptions(performance):
    heard, match = performance.finished()
    score = performance.score
    return measure_take(score, map_of(score, 0, 4), heard, match).interruptions


def kinds(performance):
    return [found.kind for found in interruptions(performance)]


@pytest.mark.parametrize(
    ("waited_seconds", "expected"),
    [
        (0.0, []),
        (0.24, []),  # ratio below 2
        (0.29, []),  # ratio above 2, less than 300 ms late
        (0.31, [InterruptionKind.HESITATION]),
        (0.49, [InterruptionKind.HESITATION]),  # less than 500 ms late
        # 500 ms late and longer than a beat and a half: eighths of 250 ms, beats of 500 ms
        (0.51, [InterruptionKind.STOP]),
        (4.0, [InterruptionKind.STOP]),
    ],
)
def test_a_wait_is_judged_by_ratio_excess_and_beats(waited_seconds, expected):
    assert kinds(Performance(SCORE).play(wait={9.5: waited_seconds})) == expected


def test_at_a_slow_tempo_half_a_second_is_less_than_a_beat_and_a_half():
    slow = Performance(SCORE, quarter_seconds=1.0)
    assert kinds(slow.play(wait={9.5: 0.9})) == [InterruptionKind.HESITATION]


def test_at_a_fast_tempo_a_hesitation_needs_its_milliseconds():
    fast = Performance(SCORE, quarter_seconds=0.2)
    assert kinds(fast.play(wait={9.5: 0.25})) == []


def test_a_wait_belongs_to_the_note_that_came_late():
    (found,) = interruptions(Performance(SCORE).play(wait={16.0: 2.0}))
    assert SCORE.notes[found.note].onset_quarters == 16
    assert found.measure_index == 4
    assert found.waited_seconds == pytest.approx(2.25)
    assert found.expected_seconds == pytest.approx(0.25)


def test_a_wait_under_a_fermata_is_music():
    held = replace(SCORE, fermatas=(Position(2, 1),))
    assert kinds(Performance(held).play(wait={9.5: 3.0})) == []
    assert kinds(Performance(held).play(wait={10.0: 3.0})) == [InterruptionKind.STOP]


@pytest.mark.parametrize("onset", [0.5, 1.0, 1.5])
def test_the_first_four_onsets_of_a_take_are_not_judged(onset):
    assert kinds(Performance(SCORE).play(wait={onset: 3.0})) == []


def test_the_fifth_onset_is_judged():
    assert kinds(Performance(SCORE).play(wait={2.0: 3.0})) == [InterruptionKind.STOP]


def test_in_the_last_two_measures_only_stops_are_judged():
    assert kinds(Performance(SCORE).play(wait={26.5: 0.4})) == []
    assert kinds(Performance(SCORE).play(wait={26.5: 2.0})) == [InterruptionKind.STOP]


def test_a_long_wait_before_going_back_is_a_stop_and_a_restart():
    found = interruptions(Performance(SCORE).play(0, 12).pause(2.0).play(8, 32))
    assert [f.kind for f in found] == [InterruptionKind.STOP, InterruptionKind.RESTART]
    assert all(SCORE.notes[f.note].onset_quarters == 12 for f in found)


def test_going_back_at_once_is_a_restart_only():
    assert kinds(Performance(SCORE).play(0, 12).play(8, 32)) == [InterruptionKind.RESTART]


def test_the_first_notes_after_a_restart_are_judged_by_the_tempo_before():
    played = Performance(SCORE).play(0, 12).play(8, 32, wait={8.5: 2.0})
    assert InterruptionKind.STOP in kinds(played)


def test_a_steady_slowing_down_is_no_hesitation():
    def ritard(quarters):
        return quarters + 0.02 * quarters**2

    assert kinds(Performance(SCORE).play(warp=ritard)) == []


def test_a_missed_note_is_no_wait():
    assert kinds(Performance(SCORE).play(miss=("r2.3", "r2.5", "l2.2", "r2.4"))) == []


def test_one_late_note_of_a_chord_is_no_wait():
    assert kinds(Performance(SCORE).play(late={"l2.2": 0.2})) == []
