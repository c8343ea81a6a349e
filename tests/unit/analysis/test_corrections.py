"""Corrected labels; the harmony is demo data."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.analysis.chords import Chord
from companion.analysis.corrections import (
    Correction,
    corrected,
    corrections_to_text,
    text_to_corrections,
    with_correction,
    without_correction,
)
from companion.analysis.harmony import Harmony, HarmonySpan
from companion.analysis.spelling import Key
from companion.score.model import Position

C = Key.from_name("C")


class MeasuresOfFour:
    """All that is asked of a score here: where a time stands."""

    def position_at(self, quarters):
        return Position(int(quarters // 4), quarters % 4)


SCORE = MeasuresOfFour()


def found(start, end, numeral="I"):
    return HarmonySpan(
        start_quarters=Fraction(start),
        end_quarters=Fraction(end),
        position=SCORE.position_at(Fraction(start)),
        key=C,
        degree="I",
        quality="maj",
        inversion=0,
        numeral=numeral,
        confidence=0.5,
    )


def written(start, end):
    return Correction(
        start_quarters=Fraction(start),
        end_quarters=Fraction(end),
        key=Key.from_name("a"),
        chord=Chord("V", "dom7"),
        inversion=2,
    )


HARMONY = Harmony(spans=(found(0, 2), found(2, 4), found(4, 8)))


def shown(harmony):
    return [(s.start_quarters, s.end_quarters, s.numeral) for s in harmony.spans]


def test_a_correction_takes_the_place_of_a_span():
    after = corrected(HARMONY, SCORE, [written(2, 4)])
    assert shown(after) == [(0, 2, "I"), (2, 4, "V43"), (4, 8, "I")]
    assert after.spans[1].confidence == 1.0


def test_a_correction_inside_a_span_leaves_what_is_before_and_behind_it():
    after = corrected(HARMONY, SCORE, [written(5, 6)])
    assert shown(after)[2:] == [(4, 5, "I"), (5, 6, "V43"), (6, 8, "I")]
    assert after.spans[4].position == Position(1, Fraction(2))


def test_a_new_correction_gives_up_those_that_it_covers():
    first = with_correction((), written(0, 2))
    second = with_correction(first, written(1, 3))
    assert second == (written(1, 3),)
    assert without_correction(second, Fraction(0), Fraction(8)) == ()


def test_corrections_are_kept_as_text():
    kept = (written(0, 2), written(Fraction(7, 2), 4))
    assert text_to_corrections(corrections_to_text(kept)) == kept
    assert corrections_to_text(()) == ""
    assert text_to_corrections("") == ()


@pytest.mark.parametrize(
    "text",
    [
        "broken",
        "{}",
        '["x"]',
        '[{"start": "0"}]',
        '[{"start": "3", "end": "1", "key": "C", "numeral": "I"}]',
        '[{"start": "0", "end": "1/0", "key": "C", "numeral": "I"}]',
        '[{"start": "0", "end": "1", "key": "H", "numeral": "I"}]',
        '[{"start": "0", "end": "1", "key": "C", "numeral": "?"}]',
    ],
)
def test_rows_that_make_no_sense_are_left_out(text):
    assert text_to_corrections(text) == ()


BORDERS = st.integers(0, 15).flatmap(lambda a: st.tuples(st.just(a), st.integers(a + 1, 16)))


@given(st.lists(BORDERS, max_size=5))
def test_spans_still_tile_the_piece(borders):
    corrections = ()
    for start, end in borders:
        corrections = with_correction(corrections, written(Fraction(start, 2), Fraction(end, 2)))
    spans = corrected(HARMONY, SCORE, corrections).spans
    assert spans[0].start_quarters == 0
    assert spans[-1].end_quarters == 8
    assert all(a.end_quarters == b.start_quarters for a, b in pairwise(spans))
