"""Which tempo is aimed at: in a section, and at a place inside it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from companion.practice.targets import target_at, target_of
from companion.score.model import Position, TempoMark
from companion.score.sections.section_map import SectionMap
from tests.unit.practice.practice_examples import a_map, a_score


def marked():
    score = a_score()
    marks = (
        TempoMark(position=Position(0), text="", quarters_per_minute=80.0),
        TempoMark(position=Position(2), text="", quarters_per_minute=100.0),
    )
    return replace(score, tempo_marks=marks)


def test_at_a_place_the_score_says_what_holds_there():
    score, section_map = marked(), a_map()
    assert target_of(section_map.sections[0], section_map, score) == 80.0
    assert target_at(Position(1, Fraction(3)), section_map, score) == 80.0
    assert target_at(Position(2), section_map, score) == 100.0


def test_a_target_of_the_section_goes_before_the_score():
    first, second = a_map().sections
    section_map = SectionMap(sections=(replace(first, target_quarters_per_minute=120.0), second))
    assert target_at(Position(2), section_map, marked()) == 120.0
    assert target_at(Position(5), section_map, marked()) == 100.0
