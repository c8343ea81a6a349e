"""The place marker: goes on with the music, leaps on good ground only, never hops to and fro."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.desktop.section_map.overlay import Leap
from companion.desktop.wiring.steady_place import LOST_AFTER_NOTES, PlaceState, SteadyPlace
from companion.listening.notes import Hands, Place, PlaceEvent
from companion.score.model import Measure, Position, Score

MEASURES = tuple(
    Measure(
        index=index,
        number=str(index + 1),
        start_quarters=Fraction(4 * index),
        duration_quarters=Fraction(4),
    )
    for index in range(24)
)
SCORE = Score(title="", composer="", measures=MEASURES, notes=(), playing_order=tuple(range(24)))


def place(quarters, confidence=0.95, others=()):
    return Place(
        onset_quarters=Fraction(quarters),
        measure_index=int(quarters) // 4,
        measure_offset_quarters=Fraction(quarters) % 4,
        confidence=confidence,
        hands=Hands.BOTH,
        quarters_per_minute=None,
        event=PlaceEvent.GOES_ON,
        ambiguous_with=tuple(others),
    )


def test_marker_goes_on_with_the_music():
    steady = SteadyPlace(SCORE)
    stands = [steady.hear(place(q)) for q in range(8)]
    assert [s.shown.onset_quarters for s in stands] == list(range(8))
    assert {s.state for s in stands} == {PlaceState.CERTAIN}
    assert all(s.leap is None for s in stands)


def test_ambiguous_notes_do_not_make_the_marker_hop_to_and_fro():
    steady = SteadyPlace(SCORE)
    steady.hear(place(8))
    stands = [steady.hear(place(q, 0.5, [8])) for q in (40, 9, 41, 9, 41, 10)]
    shown = [s.shown.onset_quarters for s in stands]
    assert shown == sorted(shown)
    assert max(shown) == 10
    assert stands[0].state is PlaceState.UNCERTAIN


def test_return_on_good_ground_is_shown_at_once_and_drawn():
    steady = SteadyPlace(SCORE)
    steady.hear(place(22))
    stands = steady.hear(place(8))
    assert stands.shown.onset_quarters == 8
    assert stands.leap == Leap(Position(5, Fraction(2)), Position(2))
    assert stands.leap.goes_back


def test_doubtful_return_waits_for_a_second_note():
    steady = SteadyPlace(SCORE)
    steady.hear(place(22))
    first = steady.hear(place(8, 0.6))
    second = steady.hear(place(9, 0.6))
    assert (first.shown.onset_quarters, first.state) == (22, PlaceState.UNCERTAIN)
    assert second.shown.onset_quarters == 9
    assert second.leap == Leap(Position(5, Fraction(2)), Position(2))


def test_written_repeat_is_no_return():
    order = (0, 1, 2, 3, 0, 1, 2, 3, 4)
    steady = SteadyPlace(replace(SCORE, playing_order=order))
    steady.hear(place(15))
    stands = steady.hear(place(0))
    assert stands.shown.onset_quarters == 0
    assert stands.leap is None


def test_marker_stays_while_the_place_is_looked_for_and_goes_after_a_while():
    steady = SteadyPlace(SCORE)
    steady.hear(place(4))
    stands = [steady.hear(None) for _ in range(LOST_AFTER_NOTES)]
    assert {s.state for s in stands} == {PlaceState.LOOKING}
    assert all(s.shown is not None for s in stands[:-1])
    assert stands[-1].shown is None


def test_nothing_is_known_of_an_earlier_take():
    steady = SteadyPlace(SCORE)
    steady.hear(place(60))
    steady.forget()
    assert steady.hear(place(0)).leap is None


@given(
    st.lists(
        st.tuples(st.integers(min_value=0, max_value=90), st.floats(min_value=0.1, max_value=0.79)),
        min_size=2,
        max_size=40,
    )
)
def test_every_step_back_of_the_marker_is_a_confirmed_leap(heard):
    steady = SteadyPlace(SCORE)
    stands = [steady.hear(place(quarters, confidence)) for quarters, confidence in heard]
    for before, after in pairwise(stands):
        if after.shown.onset_quarters < before.shown.onset_quarters:
            assert after.leap is not None


@pytest.mark.parametrize("quarters", [Fraction(1, 3), 0.5, 7])
def test_place_of_any_kind_of_number_has_a_key(quarters):
    assert SteadyPlace(SCORE).hear(place(quarters)).shown is not None
