"""Cadences of our own making, in several settings and keys: demo data.

What is perfect, imperfect, half and deceptive: W. Caplin, *Classical Form* (1998), chapter 2.
"""

from fractions import Fraction

import pytest

from companion.analysis.form.cadences import CadenceKind, find_cadences
from companion.analysis.form.rest_points import rest_points
from companion.analysis.harmony import analyse_harmony
from companion.score.model import Score
from tests.unit.analysis.typed_music import chordal, transposed

# two measures that make the key clear, the close in the third and fourth
OPENING = "C3 G3 E4 C5 | C3 G3 E4 C5 | F3 A3 C4 F4 | C3 G3 E4 G4 |"
PERFECT = {
    "six-four, seventh, tonic": "F3 A3 C4 F4 | G2 G3 C4 E4 | G2 F3 B3 D4 | C3 E3 G3 C4",
    "plain triads": "C3 G3 E4 C5 | D3 A3 F4 D5 | G2 G3 D4 B4 | C3 G3 E4 C5",
    "second degree before": "C3 G3 E4 C5 | F3 A3 D4 D5 | G2 G3 F4 B4 | C3 G3 E4 C5",
    "falling melody": "F3 A3 C4 F4 | F2 A3 D4 F4 | G2 G3 B3 D4 | C2 E3 G3 C4",
    "four parts in unison at the end": "C3 G3 E4 C5 | F3 F3 A4 D5 | G3 G3 B4 D5 | C3 C4 C5 C5",
}
HELD = " | C3 G3 E4 C5" * 4


def piece(close: str, after: str = HELD) -> Score:
    return chordal(OPENING + close + after)


def kinds(score: Score) -> dict[Fraction, CadenceKind]:
    return {each.quarters: each.kind for each in find_cadences(score, analyse_harmony(score))}


@pytest.mark.parametrize("fifths", [0, 4, -3])
@pytest.mark.parametrize("close", PERFECT.values(), ids=PERFECT.keys())
def test_a_perfect_cadence_is_found_in_every_key(close: str, fifths: int) -> None:
    score = transposed(piece(close), fifths)
    assert kinds(score)[Fraction(7)] is CadenceKind.PERFECT


def test_with_the_third_on_top_it_is_imperfect() -> None:
    score = piece("F3 A3 C4 F4 | F3 A3 D4 D5 | G2 F3 B3 D5 | C3 G3 C4 E5", " | C3 G3 C4 E5" * 4)
    assert kinds(score)[Fraction(7)] is CadenceKind.IMPERFECT


def test_from_an_inverted_dominant_it_is_imperfect() -> None:
    score = piece("F3 A3 C4 F4 | F3 A3 D4 D5 | B2 G3 F4 D5 | C3 G3 E4 C5")
    assert kinds(score)[Fraction(7)] is CadenceKind.IMPERFECT


def test_a_dominant_that_leads_to_the_sixth_degree_deceives() -> None:
    score = piece(
        "F3 A3 C4 F4 | F3 A3 D4 D5 | G2 G3 F4 B4 | A2 A3 E4 C5", " | A2 A3 E4 C5" * 2 + HELD
    )
    assert kinds(score)[Fraction(7)] is CadenceKind.DECEPTIVE


def test_music_that_rests_on_the_dominant_makes_a_half_cadence() -> None:
    close = "C3 G3 E4 C5 | F3 A3 C4 F4"
    score = chordal(OPENING + close + " | G2 D4 G4 B4", each=2)
    assert kinds(score)[Fraction(12)] is CadenceKind.HALF


def test_a_cadence_is_named_with_its_key() -> None:
    score = transposed(piece(PERFECT["plain triads"]), -3)
    words = [each.in_words for each in find_cadences(score, analyse_harmony(score))]
    assert "a perfect cadence in E flat major" in words


def test_the_line_behind_a_cadence_is_a_point_of_rest() -> None:
    score = piece(PERFECT["plain triads"], " | E3 C4 G4 | D3 B3 G4 | E3 C4 G4 | D3 B3 G4" * 2)
    points = rest_points(score, find_cadences(score, analyse_harmony(score)))
    assert points[2].cadence is not None
    assert points[2].rest > points[1].rest
    assert "after a perfect cadence in C major" in points[2].reasons
