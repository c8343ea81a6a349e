from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.history.results import FIGURES, Stretch, section_result, stretches_of
from companion.listening.measuring.take_measures import SectionMeasures
from companion.listening.notes import Hands
from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap
from tests.unit.storage.history_examples import MOMENT, a_take

positions = st.builds(Position, st.integers(0, 500), st.fractions(0, 16, max_denominator=48))


@given(positions, positions)
def test_a_stretch_comes_back_from_its_key(start, end):
    stretch = Stretch(start, end)
    assert Stretch.from_key(stretch.key) == stretch
    assert hash(Stretch.from_key(stretch.key)) == hash(stretch)


def test_a_key_is_readable():
    assert Stretch(Position(0), Position(8, Fraction(3, 2))).key == "0+0:8+3/2"


@pytest.mark.parametrize("text", ["", "0+0", "a+0:1+0", "0:1", "0+1/0:1+0"])
def test_other_text_is_no_key(text):
    with pytest.raises((ValueError, ZeroDivisionError)):
        Stretch.from_key(text)


def test_sections_with_the_same_borders_share_a_stretch():
    whole = Section(section_id="a", name="All", start=Position(0), end=Position(8))
    only = Section(section_id="b", name="Only", start=Position(0), end=Position(8), parent_id="a")
    assert stretches_of(SectionMap(sections=(whole, only))) == (Stretch.of(whole),)


def test_a_row_takes_every_figure_from_the_measures():
    measures = SectionMeasures(
        section_id="a",
        hands=Hands.LEFT,
        expected=40,
        right=38,
        wrong=1,
        missed=1,
        right_velocity=None,
        left_velocity=70.0,
        evenness_sd_ms=12.5,
    )
    stretch = Stretch(Position(0), Position(8))
    row = section_result(a_take(), stretch, measures)
    assert (row.take_id, row.stretch, row.started_at) == ("take", stretch, MOMENT)
    assert row.hands is Hands.LEFT
    for name in FIGURES:
        assert getattr(row, name) == getattr(measures, name)
    # F1 of 38 right, 1 wrong, 1 missed, none added: P = 38/39, R = 38/40 (product of definitions)
    assert row.accuracy == pytest.approx(2 * (38 / 39) * (38 / 40) / (38 / 39 + 38 / 40))
