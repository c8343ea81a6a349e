"""Arrival times rebuilt from deltas."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.midi.arrival import ArrivalClock


def heard(arrivals, drains, *, drift=0.0):
    """Arrival times as rebuilt when the queue is emptied at the moments of ``drains``."""
    clock = ArrivalClock()
    rebuilt = []
    seen_empty, last, waiting = drains[0] - 0.002, None, list(arrivals)
    for drain in drains:
        taken = []
        while waiting and waiting[0] <= drain:
            arrival = waiting.pop(0)
            taken.append((0.0 if last is None else (arrival - last) * (1 + drift), drain))
            last = arrival
        rebuilt += clock.arrival_seconds(taken, seen_empty_seconds=seen_empty)
        seen_empty = drain
    return rebuilt


def every_2_ms(until):
    return [i * 0.002 for i in range(1, int(until / 0.002) + 2)]


@given(st.lists(st.floats(0.0005, 0.4), min_size=1, max_size=40), st.floats(-50e-6, 50e-6))
def test_times_are_right_to_a_millisecond_from_the_first_note_on(gaps, drift):
    arrivals = [sum(gaps[: i + 1]) for i in range(len(gaps))]
    rebuilt = heard(arrivals, every_2_ms(arrivals[-1]), drift=drift)
    assert rebuilt == pytest.approx(arrivals, abs=0.00105)
    assert rebuilt == sorted(rebuilt)


def test_notes_that_waited_half_a_second_get_the_times_at_which_they_came():
    arrivals = [0.1, 0.2, 1.01, 1.11, 1.21, 1.31, 1.6]
    drains = [*every_2_ms(1.0), 1.5, *(1.5 + d for d in every_2_ms(0.2))]
    assert heard(arrivals, drains) == pytest.approx(arrivals, abs=0.0011)


def test_time_that_the_deltas_lost_is_made_up():
    clock = ArrivalClock()
    for number in range(10):
        at = 0.1 * (number + 1)
        clock.arrival_seconds([(0.1, at + 0.001)], seen_empty_seconds=at - 0.001)
    # 3 s pass in which something was filtered; the delta tells only 0.1 s of them.
    (at,) = clock.arrival_seconds([(0.1, 4.001)], seen_empty_seconds=3.999)
    assert at == pytest.approx(4.0, abs=0.001)


def test_notes_that_all_waited_keep_their_distances_though_no_offset_was_known():
    taken = [(0.0, 0.5), (0.1, 0.5), (0.05, 0.5)]
    first, second, third = ArrivalClock().arrival_seconds(taken, seen_empty_seconds=0.0)
    assert second - first == pytest.approx(0.1, abs=1e-9)
    assert third - second == pytest.approx(0.05, abs=1e-9)


def test_a_time_is_never_in_the_future_or_before_the_note_before():
    clock = ArrivalClock()
    (first,) = clock.arrival_seconds([(0.0, 0.5)], seen_empty_seconds=0.0)
    (second,) = clock.arrival_seconds([(0.0, 0.1)], seen_empty_seconds=0.0)
    assert first <= 0.5
    assert second >= first
