from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.listening.recognition.any_music import AnyMusic
from companion.listening.recognition.next_key import (
    INPUTS,
    REACH,
    NextKey,
    inputs,
    next_key_model,
)
from tests.unit.listening.invented_pieces import invented_piece, play

keys = st.lists(st.integers(21, 108), min_size=1, max_size=40)


def chances_after(before: list[int], gap_seconds: float = 0.3) -> list[float]:
    chances = []
    for key in range(128):
        foreseer = NextKey()
        for place, heard in enumerate(before):
            foreseer.hear(heard, place * 0.3)
        chances.append(foreseer.hear(key, (len(before) - 1) * 0.3 + gap_seconds))
    return chances


@settings(deadline=None, max_examples=25)
@given(st.lists(st.integers(40, 90), min_size=1, max_size=20), st.floats(0.0, 3.0))
def test_chances_of_all_keys_together_are_about_one(before, gap_seconds):
    chances = chances_after(before, gap_seconds)
    assert all(0.0 < chance <= 1.0 for chance in chances)
    out_of_reach = [c for key, c in enumerate(chances) if abs(key - before[-1]) > REACH]
    within_reach = sum(chances) - sum(out_of_reach)
    # "farther" is shared among the keys of a piano that are out of reach, some thirty
    farther = sum(out_of_reach) / len(out_of_reach) * 30
    assert within_reach + farther == pytest.approx(1.0, abs=0.05)


@settings(deadline=None, max_examples=50)
@given(keys, st.integers(-12, 12))
def test_inputs_but_for_the_register_do_not_know_in_which_key_the_music_is(before, up):
    register = set(range(6 * 74 + 73 + 12, 6 * 74 + 73 + 24))
    gaps = [0.2] * min(4, len(before))

    def without_register(some):
        places, weights = inputs(some, gaps)
        return {p: w for p, w in zip(places, weights, strict=True) if p not in register}

    assert without_register(before) == without_register([key + up for key in before])


def test_weights_have_the_shape_of_the_inputs():
    model = next_key_model()
    assert model.into.shape[0] == INPUTS
    assert all(np.isfinite(w).all() for w in (model.into, model.out, model.out_bias))


def test_music_even_when_invented_by_a_rule_is_foreseen_better_than_keys_at_random():
    chance = np.random.default_rng(1)
    surprise = {"music": 0.0, "random": 0.0}
    for number in range(6):
        heard = play(invented_piece(number), count=60)
        for kind in surprise:
            foreseer = AnyMusic()
            for note in heard:
                key = note.pitch if kind == "music" else int(chance.integers(36, 90))
                surprise[kind] -= foreseer.hear(key, note.onset_seconds)
    assert surprise["music"] < 0.95 * surprise["random"]


def test_a_scale_surprises_less_and_less():
    foreseer = AnyMusic()
    scale = [48 + 12 * octave + step for octave in range(3) for step in (0, 2, 4, 5, 7, 9, 11)]
    surprises = [-foreseer.hear(key, 0.15 * place) for place, key in enumerate(scale)]
    assert np.mean(surprises[10:]) < 0.75 < np.mean(surprises[:4])


@settings(deadline=None, max_examples=20)
@given(keys)
def test_forgetting_begins_anew(before):
    foreseer = AnyMusic()
    once = [foreseer.hear(key, 0.2 * place) for place, key in enumerate(before)]
    foreseer.forget()
    assert [foreseer.hear(key, 0.2 * place) for place, key in enumerate(before)] == once
    assert all(math.isfinite(value) for value in once)
