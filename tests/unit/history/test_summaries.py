from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.history.summaries import (
    errors_per_play,
    heat_strip,
    summarise_sections,
)
from companion.listening.measuring.take_measures import MeasureErrors
from companion.listening.notes import Hands
from tests.unit.storage.history_examples import MOMENT, a_result, a_stretch

DAY = timedelta(days=1)
MINUTE = timedelta(minutes=1)


def one_summary(rows):
    (summary,) = summarise_sections(rows).values()
    return summary


def test_a_day_holds_first_best_and_median():
    summary = one_summary(
        [
            a_result("three", started_at=MOMENT + 9 * MINUTE, accuracy=0.8, tempo=90),
            a_result("one", started_at=MOMENT, accuracy=0.7, tempo=80),
            a_result("two", started_at=MOMENT + 3 * MINUTE, accuracy=0.95, tempo=70),
        ]
    )
    (day,) = summary.days
    assert (day.day, day.take_count, day.complete_count) == (date(2026, 3, 2), 3, 3)
    assert day.first_take_id == "one"
    assert (day.first_accuracy, day.best_accuracy, day.median_accuracy) == (0.7, 0.95, 0.8)
    assert day.first_quarters_per_minute == 80
    assert day.best_quarters_per_minute == 90
    assert day.median_quarters_per_minute == 80
    assert summary.last_played_at == MOMENT + 9 * MINUTE


def test_fragments_do_not_flatter_a_day_with_complete_takes():
    (day,) = one_summary(
        [
            a_result("fragment", accuracy=1.0, tempo=140, complete=False),
            a_result("whole", started_at=MOMENT + MINUTE, accuracy=0.8, tempo=90),
        ]
    ).days
    assert (day.best_accuracy, day.best_quarters_per_minute) == (0.8, 90)
    assert (day.take_count, day.complete_count) == (2, 1)
    assert day.first_accuracy == 1.0  # the cold take is the cold take


def test_a_day_of_fragments_only_is_told_by_its_fragments():
    (day,) = one_summary([a_result(accuracy=0.6, complete=False)]).days
    assert (day.best_accuracy, day.complete_count) == (0.6, 0)


def test_hands_separately_are_days_of_their_own():
    summary = one_summary(
        [
            a_result("left", hands=Hands.LEFT, accuracy=1.0),
            a_result("both", started_at=MOMENT + MINUTE, accuracy=0.7),
        ]
    )
    assert [day.hands for day in summary.days] == [Hands.BOTH, Hands.LEFT]
    assert summary.latest.best_accuracy == 0.7
    assert summary.take_count == 2


def test_the_latest_day_is_one_with_both_hands_where_there_is_one():
    rows = [
        a_result("both", accuracy=0.7),
        a_result("right", started_at=MOMENT + DAY, hands=Hands.RIGHT),
    ]
    assert one_summary(rows).latest.hands is Hands.BOTH
    assert one_summary(rows[1:]).latest.hands is Hands.RIGHT


def test_one_take_with_two_choices_of_hands_is_one_take():
    rows = [a_result("take", hands=hands) for hands in Hands]
    assert one_summary(rows).take_count == 1


def test_a_night_session_stays_in_one_day():
    late = MOMENT.replace(hour=22, minute=50)  # ten to midnight in Berlin
    summary = one_summary(
        [a_result("before", started_at=late), a_result("after", started_at=late + 20 * MINUTE)]
    )
    assert [day.take_count for day in summary.days] == [2]


def test_what_cannot_be_told_stays_empty():
    (day,) = one_summary([a_result(accuracy=None, tempo=None)]).days
    assert day.best_accuracy is None
    assert day.median_accuracy is None
    assert day.best_quarters_per_minute is None


def test_sections_are_kept_apart():
    rows = [a_result(stretch=a_stretch(0, 4)), a_result(stretch=a_stretch(4, 8))]
    assert list(summarise_sections(rows)) == [a_stretch(0, 4), a_stretch(4, 8)]
    assert summarise_sections([]) == {}


@given(st.permutations(range(6)))
def test_the_order_of_rows_makes_no_difference(order):
    rows = [
        a_result(f"take {n}", started_at=MOMENT + n * 9 * MINUTE * 60, accuracy=0.5 + n / 20)
        for n in range(6)
    ]
    assert summarise_sections([rows[n] for n in order]) == summarise_sections(rows)


# Measures


def test_the_heat_strip_adds_up_takes():
    counts = np.array(
        [[3, 1, 10, 8, 1, 1, 0, 1], [5, 1, 4, 4, 0, 0, 0, 0], [3, 2, 20, 20, 0, 0, 3, 0]]
    )
    assert heat_strip(counts) == (
        MeasureErrors(
            measure_index=3, plays=3, expected=30, right=28, wrong=1, missed=1, added=3, stops=1
        ),
        MeasureErrors(measure_index=5, plays=1, expected=4, right=4),
    )


def test_errors_are_counted_per_play():
    measure = MeasureErrors(measure_index=0, plays=4, wrong=1, missed=2, added=3)
    assert errors_per_play(measure) == pytest.approx(1.5)
    assert errors_per_play(MeasureErrors(measure_index=0)) is None
