"""What becomes of the sections when one map takes the place of another."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from companion.score.model import Position
from companion.score.sections.changes import ChangeKind, section_changes
from companion.score.sections.section_map import Section, SectionMap, arranged


def a_map(*borders, names="ABCDEFGHIJ"):
    return arranged(
        [
            Section(section_id=f"{start}", name=name, start=Position(start), end=Position(end))
            for name, start, end in zip(names, borders, borders[1:], strict=False)
        ]
    )


def told(before, after):
    return [(change.kind.value, change.section.name) for change in section_changes(before, after)]


def test_the_same_map_stays():
    assert told(a_map(0, 8, 16), a_map(0, 8, 16)) == [("stays", "A"), ("stays", "B")]


def test_a_border_that_is_gone_makes_one_new_section_of_two():
    assert told(a_map(0, 8, 16), a_map(0, 16)) == [("new", "A"), ("gone", "A"), ("gone", "B")]


def test_another_name_for_the_same_stretch_is_no_new_section():
    (first, second) = section_changes(a_map(0, 8, 16), a_map(0, 8, 16, names="AX"))
    assert (first.kind, second.kind) == (ChangeKind.STAYS, ChangeKind.RENAMED)
    assert (second.before.name, second.after.name) == ("B", "X")


@given(
    st.sets(st.integers(1, 9), max_size=5),
    st.sets(st.integers(1, 9), max_size=5),
)
def test_every_section_of_both_maps_is_told_once(some, others):
    before, after = a_map(0, *sorted(some), 10), a_map(0, *sorted(others), 10)
    changes = section_changes(before, after)
    assert sum(c.before is not None for c in changes) == len(before.sections)
    assert sum(c.after is not None for c in changes) == len(after.sections)
    assert section_changes(SectionMap(sections=()), after) == tuple(
        c for c in section_changes(SectionMap(sections=()), after) if c.kind is ChangeKind.NEW
    )
