"""Whatever is edited, in whatever order: the map keeps its promises, the old value is untouched."""

import json
from contextlib import suppress

from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import EditRefused
from companion.score.model import Position
from companion.score.sections import edits as edit
from companion.score.sections.document import section_map_from_document, section_map_to_document
from companion.score.sections.section_map import Section, SectionMap, validate

MEASURES = 24
END = Position(MEASURES)

positions = st.builds(
    Position,
    st.integers(0, MEASURES),
    st.fractions(0, 3, max_denominator=4),
)
words = st.text(max_size=12)
steps = st.lists(
    st.tuples(
        st.sampled_from(
            ["split", "merge", "subdivide", "move", "nest", "unnest", "rename", "purpose", "target"]
        ),
        st.integers(0, 30),
        st.integers(0, 30),
        positions,
        words,
    ),
    max_size=25,
)


def whole_piece() -> SectionMap:
    only = Section(section_id="first", name="A", start=Position(0), end=END)
    return SectionMap(sections=(only,))


def edited(section_map: SectionMap, step) -> SectionMap:
    kind, one, other, position, text = step
    sections = section_map.sections
    first = sections[one % len(sections)].section_id
    second = sections[other % len(sections)].section_id
    match kind:
        case "split":
            return edit.split(section_map, first, position)
        case "merge":
            return edit.merge(section_map, first)
        case "subdivide":
            return edit.subdivide(section_map, first, [position, Position(other % MEASURES)])
        case "move":
            borders = section_map.borders or (Position(1),)
            return edit.move_border(section_map, borders[one % len(borders)], position)
        case "nest":
            return edit.nest(section_map, first, second, text)
        case "unnest":
            return edit.unnest(section_map, first)
        case "rename":
            return edit.rename(section_map, first, text)
        case "purpose":
            return edit.set_purpose(section_map, first, text)
        case _:
            return edit.set_target(section_map, first, float(one * 20))


@settings(max_examples=80, deadline=None)
@given(steps)
def test_every_sequence_of_edits_leaves_levels_without_gaps(sequence):
    section_map = whole_piece()
    for step in sequence:
        before, copy = section_map, SectionMap(sections=tuple(section_map.sections))
        with suppress(EditRefused):
            section_map = edited(section_map, step)
        validate(section_map, END)
        assert before == copy  # undo is going back to the old value
        assert section_map.start == Position(0)


@settings(max_examples=50, deadline=None)
@given(steps, positions)
def test_every_place_lies_in_exactly_one_leaf(sequence, place):
    section_map = whole_piece()
    for step in sequence:
        try:
            section_map = edited(section_map, step)
        except EditRefused:
            continue
    inside = [leaf for leaf in section_map.leaves if leaf.contains(place)]
    if place < END:
        assert inside == [section_map.section_at(place)]
    else:
        assert inside == []


@settings(max_examples=50, deadline=None)
@given(steps)
def test_every_map_comes_back_from_its_document(sequence):
    section_map = whole_piece()
    for step in sequence:
        try:
            section_map = edited(section_map, step)
        except EditRefused:
            continue
    document = json.loads(json.dumps(section_map_to_document(section_map)))
    assert section_map_from_document(document) == section_map


@settings(max_examples=50, deadline=None)
@given(steps, st.integers(0, 30))
def test_ids_outlive_edits_of_other_sections(sequence, place):
    section_map = whole_piece()
    for step in sequence:
        try:
            section_map = edited(section_map, step)
        except EditRefused:
            continue
    kept = section_map.sections[place % len(section_map.sections)]
    try:
        split_one = edit.split(section_map, kept.section_id, Position(kept.start.measure_index + 1))
    except EditRefused:
        return
    assert {s.section_id for s in section_map.sections} - {
        s.section_id for s in split_one.sections
    } <= {child.section_id for child in section_map.descendants(kept.section_id)}
    assert split_one.section(kept.section_id).start == kept.start
