"""Looking things up in a section map, and its promises."""

from dataclasses import replace
from fractions import Fraction

import pytest

from companion.errors import EditRefused
from companion.score.model import Position
from companion.score.sections.section_map import (
    Section,
    SectionMap,
    arranged,
    new_section_id,
    validate,
)


def section(name, start, end, parent=None):
    return Section(
        section_id=name.lower(),
        name=name,
        start=Position(start),
        end=Position(end),
        parent_id=parent,
    )


NESTED = arranged(
    [
        section("B", 8, 16),
        section("A2", 4, 8, "a"),
        section("A", 0, 8),
        section("A1", 0, 4, "a"),
        section("A1y", 2, 4, "a1"),
        section("A1x", 0, 2, "a1"),
    ]
)


def names(sections):
    return [s.name for s in sections]


def test_sections_are_arranged_by_start_and_parents_come_first():
    assert names(NESTED.sections) == ["A", "A1", "A1x", "A1y", "A2", "B"]
    validate(NESTED, Position(16))


def test_leaves_are_the_sections_without_children():
    assert names(NESTED.leaves) == ["A1x", "A1y", "A2", "B"]


def test_top_level_and_children_are_in_order():
    assert names(NESTED.top_level) == ["A", "B"]
    assert names(NESTED.children("a")) == ["A1", "A2"]
    assert names(NESTED.descendants("a")) == ["A1", "A1x", "A1y", "A2"]
    assert names(NESTED.ancestors("a1y")) == ["A1", "A"]
    assert NESTED.depth("a1y") == 2
    assert NESTED.levels == 3


@pytest.mark.parametrize(
    ("measure", "level", "expected"),
    [
        (3, None, "A1y"),
        (3, 0, "A"),
        (3, 1, "A1"),
        (3, 9, "A1y"),
        (5, 2, "A2"),
        (15, 1, "B"),
        (0, None, "A1x"),
    ],
)
def test_section_at_a_place_goes_as_deep_as_asked(measure, level, expected):
    assert NESTED.section_at(Position(measure), level).name == expected


def test_a_border_belongs_to_the_section_that_begins_there():
    assert NESTED.section_at(Position(8)).name == "B"
    assert NESTED.section_at(Position(7, Fraction(7, 2))).name == "A2"


def test_behind_the_piece_there_is_no_section():
    assert NESTED.section_at(Position(16)) is None
    assert SectionMap(sections=()).section_at(Position(0)) is None


def test_borders_are_told_once_and_without_the_beginning():
    assert NESTED.borders == (Position(2), Position(4), Position(8))


def test_an_unknown_section_is_refused_in_words():
    with pytest.raises(EditRefused, match="no longer in the map"):
        NESTED.section("zzz")


def test_new_ids_differ():
    assert len({new_section_id() for _ in range(1000)}) == 1000


def broken(**changes):
    """NESTED with fields of some sections changed: ``a1={"end": ...}``."""
    return SectionMap(
        sections=tuple(replace(s, **changes.get(s.section_id, {})) for s in NESTED.sections)
    )


@pytest.mark.parametrize(
    ("section_map", "sentence"),
    [
        (broken(a2={"end": Position(7)}), "wrong place"),
        (broken(a2={"start": Position(5)}), "gap or an overlap"),
        (broken(b={"start": Position(7)}), "gap or an overlap"),
        (broken(b={"parent_id": "nobody"}), "missing"),
        (broken(b={"section_id": "a"}), "identity"),
        (broken(a1y={"parent_id": "a2"}), "out of order"),
        (arranged([section("A", 1, 3)]), "begin with the piece"),
        (arranged([section("A", 0, 3), section("X", 0, 3, "a")]), "single"),
        (SectionMap(sections=NESTED.sections[::-1]), "out of order"),
    ],
)
def test_a_broken_promise_is_told(section_map, sentence):
    with pytest.raises(EditRefused, match=sentence):
        validate(section_map)


def test_a_map_of_another_length_is_refused():
    with pytest.raises(EditRefused, match="end with the piece"):
        validate(NESTED, Position(17))


def test_an_empty_map_is_valid():
    validate(SectionMap(sections=()))
