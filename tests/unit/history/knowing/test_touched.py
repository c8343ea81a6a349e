"""Which take touched which section: borders played over, run-throughs, where the time went."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from companion.history.knowing.columns import HANDS
from companion.history.knowing.touched import Touched
from companion.listening.notes import Hands

MONDAY = date(2026, 3, 2)
RIGHT, BOTH = HANDS.index(Hands.RIGHT), HANDS.index(Hands.BOTH)


def touched(*takes, sections=2):
    """Takes as (days after Monday, seconds, coverage of each section, hands)."""
    days = [MONDAY.toordinal() + take[0] for take in takes]
    begun = [datetime(2026, 3, 2, 17, tzinfo=UTC) + timedelta(days=take[0]) for take in takes]
    coverage = np.array([take[2] for take in takes], dtype=float).reshape(len(takes), sections)
    hands = np.array([take[3:] or (BOTH,) for take in takes], dtype=np.uint8)
    return Touched(
        take_ids=[f"take {number}" for number in range(len(takes))],
        microseconds=np.array([int(each.timestamp() * 1e6) for each in begun], dtype=np.int64),
        seconds=np.array([take[1] for take in takes], dtype=float),
        days=np.array(days, dtype=np.int64),
        coverage=coverage,
        complete=coverage >= 1.0,
        began_again=np.zeros(coverage.shape, dtype=np.bool_),
        hands=np.repeat(hands.reshape(-1, 1), sections, axis=1),
        tempo=np.full(coverage.shape, np.nan),
        stops=np.zeros(coverage.shape, dtype=np.int64),
    )


def test_a_border_is_played_over_by_a_take_that_ends_one_section_and_goes_on_into_the_next():
    takes = touched((0, 60, (1, 0.3)), (1, 60, (0.5, 1)), (2, 60, (1, 0)), (3, 60, (1, 1), RIGHT))
    assert takes.last_joined(0, 1) == MONDAY
    assert takes.before(MONDAY).last_joined(0, 1) is None


def test_a_run_through_takes_in_nine_sections_of_ten():
    nine, eight = (1,) * 9 + (0.5,), (1,) * 8 + (0.5, 0.5)
    takes = touched((0, 300, nine), (1, 300, eight), sections=10)
    assert takes.last_run_through == MONDAY


def test_only_the_first_take_of_a_day_is_a_cold_run_through():
    takes = touched((0, 60, (1, 1)), (0, 60, (1, 1)), (1, 60, (1, 0)), (1, 60, (1, 1)))
    takes.stops[0, 1] = 1
    assert takes.cold_run_throughs(MONDAY) == (1, 0)
    takes.stops[0, 1] = 0
    assert takes.cold_run_throughs(MONDAY) == (1, 1)
    assert takes.cold_run_throughs(MONDAY + timedelta(days=1)) == (0, 0)


def test_the_length_of_a_take_is_shared_out_among_what_it_touched():
    takes = touched((0, 60, (1, 0.5)), (0, 30, (0, 1)), (1, 10, (0, 0)))
    seconds = takes.seconds_in([20.0, 40.0])
    assert seconds.tolist() == [[30.0, 30.0], [0.0, 30.0], [0.0, 0.0]]


def test_the_takes_of_one_day_come_as_values():
    takes = touched((0, 60, (1, 0.5)), (1, 30, (0, 1), RIGHT))
    (take,) = takes.on(MONDAY + timedelta(days=1))
    assert (take.take_id, take.seconds, take.hands) == ("take 1", 30.0, Hands.RIGHT)
    assert (take.coverage, take.complete) == ((0.0, 1.0), (False, True))
    assert take.started_at == datetime(2026, 3, 3, 17, tzinfo=UTC)
    assert take.tempo_quarters_per_minute == (None, None)


@pytest.mark.parametrize("sections", [0, 2])
def test_without_a_take_nothing_was_touched(sections):
    takes = touched(sections=sections)
    assert takes.first_day is None
    assert takes.last_run_through is None
    assert takes.on(MONDAY) == ()
    assert takes.seconds_in([10.0] * sections).shape == (0, sections)
