"""Numerals as drawn and as said. The spellings are those of thoroughbass (common practice)."""

import pytest

from companion.desktop.harmony.wording import spaced
from companion.desktop.score_view.numerals import NumeralParts, draw_numeral, parts_of


@pytest.mark.parametrize(
    ("numeral", "parts"),
    [
        ("I", NumeralParts("", "I", "", "", "")),
        ("V65/V", NumeralParts("", "V", "", "65", "/V")),
        ("viio7", NumeralParts("", "vii", "°", "7", "")),
        ("iiø65", NumeralParts("", "ii", "ø", "65", "")),
        ("bVI", NumeralParts("♭", "VI", "", "", "")),
        ("Ger65", NumeralParts("", "Ger", "", "65", "")),
        ("V7/bIII", NumeralParts("", "V", "", "7", "/♭III")),
        ("something", NumeralParts("", "something", "", "", "")),
    ],
)
def test_a_numeral_is_taken_apart(numeral, parts):
    assert parts_of(numeral) == parts


@pytest.mark.parametrize(
    ("numeral", "said"),
    [
        ("V43", "V 4/3"),
        ("V65/V", "V 6/5 of V"),
        ("viio7", "vii°7"),
        ("I", "I"),
        ("I6", "I6"),
        ("bVI", "♭VI"),
    ],
)
def test_a_numeral_is_said(numeral, said):
    assert spaced(numeral) == said


def test_figures_stand_above_each_other(qapp):
    assert draw_numeral("V65").width == pytest.approx(draw_numeral("V6").width, abs=0.2)
    assert draw_numeral("V65").path.boundingRect().height() > 1.2


def test_a_doubtful_numeral_is_wider_by_its_question_mark(qapp):
    assert draw_numeral("V", doubtful=True).width > draw_numeral("V").width
