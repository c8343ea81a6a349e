"""Where the same music stands twice."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.listening.decoding.alike import LOOKS_BACK, AlikePlaces
from companion.listening.decoding.score_onsets import lay_out_onsets
from tests.unit.listening.invented_music import a_note

PITCHES = st.lists(st.sampled_from([60, 62, 64]), min_size=1, max_size=60)


def a_row(pitches):
    """One eighth after the other."""
    onsets = [Fraction(place, 2) for place in range(len(pitches))]
    return lay_out_onsets(
        [
            a_note(place, onset, Fraction(1, 2), pitch, 1)
            for place, (onset, pitch) in enumerate(zip(onsets, pitches, strict=True))
        ]
    )


@given(PITCHES, st.data())
def test_places_are_alike_when_the_keys_before_them_are_the_same_one_by_one(pitches, data):
    onsets = a_row(pitches)
    one, other = (data.draw(st.integers(0, len(pitches) - 1)) for _ in range(2))
    heard = data.draw(st.integers(1, min(one + 1, LOOKS_BACK)))
    states = onsets.chain_start[0] + np.array([one, other])
    found = AlikePlaces(onsets).share(states, np.array([heard, 1]))
    expected = other + 1 >= heard and (
        pitches[one + 1 - heard : one + 1] == pitches[other + 1 - heard : other + 1]
    )
    assert bool(found[1, 0]) == expected
    assert bool(found[0, 1]) == (pitches[one] == pitches[other])


def test_who_has_sixteen_onsets_in_common_is_alike_whatever_was_before():
    turn = [60, 62, 64, 65] * 4
    onsets = a_row([70, *turn, 80, *turn])
    start = onsets.chain_start[0]
    alike = AlikePlaces(onsets)
    assert alike.share(start + np.array([16, 33]), np.array([17, 400])).all()


@pytest.mark.parametrize("count", [1, 3, 17])
def test_a_place_is_like_itself_in_the_shortest_score(count):
    onsets = a_row([60] * count)
    at = np.array([onsets.chain_start[0]])
    assert AlikePlaces(onsets).share(at, np.array([1])).all()
