from __future__ import annotations

import math

import numpy as np
import pytest

from companion.listening.recognition.heard_times import (
    IN_TIME_GAIN,
    MOST_TEMPO_CHANGE,
    OUT_OF_TIME_COST,
    STEADY_GAIN,
    HeardTimes,
    costs_by_gap,
    weigh_steps,
)


def heard(*seconds: float) -> HeardTimes:
    times = HeardTimes()
    for one in seconds:
        times.hear(one)
    return times


def weighed(seconds: float, quarters: float, tempo: float, *, known: bool = True):
    earned, after = weigh_steps(
        np.array([seconds]),
        np.array([quarters], np.float32),
        np.array([tempo], np.float32),
        np.array([known]),
        IN_TIME_GAIN,
    )
    return float(earned[0]), float(after[0])


def test_the_gap_before_the_first_note_has_no_end():
    assert heard(3.0).gap_seconds == math.inf
    assert heard(3.0, 3.25).gap_seconds == 0.25


def test_times_are_kept_however_long_a_take_is():
    times = heard(*(0.5 * number for number in range(3_000)))
    assert times.count == 3_000
    since = times.seconds_since(np.array([1, 2_999, 3_000], np.int32))
    assert since.tolist() == [1_499.5, 0.5, 0.0]


def test_a_step_as_long_as_the_one_before_says_little():
    assert heard(0.0, 0.5, 1.0).in_time_gain == STEADY_GAIN
    assert heard(0.0, 0.5, 1.5).in_time_gain == IN_TIME_GAIN


def test_the_second_note_of_a_chord_is_no_step():
    assert heard(0.0, 0.5, 1.0, 1.02).in_time_gain == STEADY_GAIN


def test_together_one_does_not_go_on_and_apart_one_does_not_stay():
    stay, go = costs_by_gap(0.0)
    assert stay == 0.0 < go
    stay, go = costs_by_gap(1.0)
    assert go == 0.0 < stay


def test_a_step_in_the_tempo_earns_and_keeps_it():
    earned, after = weighed(1.0, 2.0, math.log(0.5))
    assert earned == pytest.approx(IN_TIME_GAIN)
    assert after == pytest.approx(math.log(0.5))


def test_a_step_far_out_of_the_tempo_costs_and_moves_it_a_little():
    earned, after = weighed(8.0, 2.0, math.log(0.5))
    assert earned == pytest.approx(-OUT_OF_TIME_COST)
    assert after == pytest.approx(math.log(0.5) + MOST_TEMPO_CHANGE)


def test_the_first_step_earns_nothing_and_gives_the_tempo():
    earned, after = weighed(1.0, 2.0, 0.0, known=False)
    assert earned == 0.0
    assert after == pytest.approx(math.log(0.5))
