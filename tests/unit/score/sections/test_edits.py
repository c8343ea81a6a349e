"""Edits of the section map, one fact each."""

from fractions import Fraction

import pytest

from companion.errors import EditRefused
from companion.score.model import Position
from companion.score.sections import edits as edit
from companion.score.sections.section_map import Section, arranged, validate


def section(name, start, end, parent=None, **more):
    return Section(
        section_id=name.lower(),
        name=name,
        start=Position(start),
        end=Position(end),
        parent_id=parent,
        **more,
    )


FLAT = arranged([section("A", 0, 8, why="double bar"), section("B", 8, 16), section("C", 16, 24)])
NESTED = arranged(
    [
        section("A", 0, 8),
        section("A1", 0, 4, "a"),
        section("A2", 4, 8, "a"),
        section("B", 8, 16),
        section("B1", 8, 12, "b"),
        section("B2", 12, 16, "b"),
        section("C", 16, 24),
    ]
)


def spans(section_map):
    return [
        (
            "  " * section_map.depth(s.section_id) + s.name,
            s.start.measure_index,
            s.end.measure_index,
        )
        for s in section_map.sections
    ]


def test_split_gives_the_first_part_the_id_and_the_second_a_numbered_name():
    parted = edit.split(FLAT, "b", Position(12))
    validate(parted, FLAT.end)
    assert spans(parted) == [("A", 0, 8), ("B", 8, 12), ("B 2", 12, 16), ("C", 16, 24)]
    assert parted.sections[1].section_id == "b"
    assert parted.sections[2].section_id not in {"a", "b", "c"}


def test_splitting_again_counts_on():
    parted = edit.split(edit.split(FLAT, "b", Position(12)), "b", Position(10))
    assert [s.name for s in parted.sections] == ["A", "B", "B 3", "B 2", "C"]


def test_split_inside_a_measure():
    place = Position(9, Fraction(3, 2))
    parted = edit.split(FLAT, "b", place)
    assert parted.section("b").end == place
    assert parted.section_at(place).name == "B 2"


def test_split_keeps_words_and_target_with_the_first_part_and_the_target_with_both():
    written = edit.set_target(edit.set_purpose(FLAT, "b", "the question"), "b", 96.0)
    parted = edit.split(written, "b", Position(12))
    first, second = parted.sections[1:3]
    assert (first.purpose, second.purpose) == ("the question", "")
    assert (first.target_quarters_per_minute, second.target_quarters_per_minute) == (96.0, 96.0)


def test_split_of_a_divided_section_between_its_children_lifts_lonely_ones():
    parted = edit.split(NESTED, "a", Position(4))
    validate(parted)
    assert spans(parted)[:3] == [("A", 0, 4), ("A2", 4, 8), ("B", 8, 16)]
    assert parted.sections[1].section_id == "a2"


def test_split_of_a_divided_section_through_a_child_parts_the_child_too():
    parted = edit.split(NESTED, "a", Position(6), "Answer")
    validate(parted)
    assert spans(parted)[:4] == [("A", 0, 6), ("  A1", 0, 4), ("  A2", 4, 6), ("A2 2", 6, 8)]


@pytest.mark.parametrize("measure", [0, 8, 16, 20])
def test_split_outside_is_refused(measure):
    with pytest.raises(EditRefused, match=r"begins there already|not inside"):
        edit.split(FLAT, "b", Position(measure))


def test_subdivide_makes_numbered_children():
    divided = edit.subdivide(FLAT, "b", [Position(12), Position(10)])
    validate(divided)
    assert spans(divided)[1:5] == [
        ("B", 8, 16), ("  B 1", 8, 10), ("  B 2", 10, 12), ("  B 3", 12, 16)
    ]  # fmt: skip


def test_subdivide_of_a_divided_section_parts_its_children():
    divided = edit.subdivide(NESTED, "a", [Position(2), Position(4)])
    validate(divided)
    assert spans(divided)[:4] == [("A", 0, 8), ("  A1", 0, 2), ("  A1 2", 2, 4), ("  A2", 4, 8)]


def test_subdivide_needs_a_new_place():
    with pytest.raises(EditRefused, match="Choose a place"):
        edit.subdivide(FLAT, "b", [])
    with pytest.raises(EditRefused, match="divided there already"):
        edit.subdivide(NESTED, "a", [Position(4)])


def test_merge_keeps_the_first_id_and_all_words():
    written = edit.set_purpose(edit.set_purpose(FLAT, "a", "opens"), "b", "answers")
    merged = edit.merge(edit.set_target(written, "b", 60), "a")
    validate(merged)
    assert spans(merged) == [("A", 0, 16), ("C", 16, 24)]
    kept = merged.section("a")
    assert (kept.purpose, kept.target_quarters_per_minute) == ("opens\nanswers", 60)
    assert kept.why == "double bar"


def test_merge_of_two_divided_sections_keeps_their_children():
    merged = edit.merge(NESTED, "a")
    validate(merged)
    assert spans(merged)[:5] == [
        ("A", 0, 16), ("  A1", 0, 4), ("  A2", 4, 8), ("  B1", 8, 12), ("  B2", 12, 16)
    ]  # fmt: skip


def test_merge_of_a_divided_and_a_plain_section_keeps_the_plain_one_as_a_child():
    merged = edit.merge(NESTED, "b")
    validate(merged)
    assert spans(merged)[3:] == [("B", 8, 24), ("  B1", 8, 12), ("  B2", 12, 16), ("  C", 16, 24)]


def test_merge_of_a_plain_and_a_divided_section_makes_a_child_of_the_plain_one():
    merged = edit.merge(edit.unnest(NESTED, "a"), "a2")
    validate(merged)
    assert spans(merged)[1:5] == [
        ("A2", 4, 16), ("  A2 2", 4, 8), ("  B1", 8, 12), ("  B2", 12, 16)
    ]  # fmt: skip


def test_merging_the_only_two_children_makes_the_section_plain():
    merged = edit.merge(edit.set_purpose(NESTED, "a2", "falls back"), "a1")
    validate(merged)
    assert spans(merged)[:2] == [("A", 0, 8), ("B", 8, 16)]
    assert merged.section("a").purpose == "falls back"


def test_the_last_section_has_no_neighbour():
    with pytest.raises(EditRefused, match="no neighbour"):
        edit.merge(FLAT, "c")
    with pytest.raises(EditRefused, match="no neighbour"):
        edit.merge(NESTED, "a2")


def test_move_border_moves_every_level():
    moved = edit.move_border(NESTED, Position(8), Position(10))
    validate(moved)
    assert moved.section("a").end == moved.section("a2").end == Position(10)
    assert moved.section("b").start == moved.section("b1").start == Position(10)


def test_moved_borders_lose_the_reason_of_their_proposal():
    reasoned = arranged([section("A", 0, 8), section("B", 8, 16, why="double bar")])
    assert edit.move_border(reasoned, Position(8), Position(9)).section("b").why == ""
    assert edit.move_border(reasoned, Position(8), Position(8)) == reasoned


@pytest.mark.parametrize("to", [Position(12), Position(13), Position(4), Position(3)])
def test_a_border_stops_before_the_next_one_on_any_level(to):
    with pytest.raises(EditRefused, match="Nothing would be left"):
        edit.move_border(NESTED, Position(8), to)


@pytest.mark.parametrize("border", [Position(0), Position(24), Position(9)])
def test_only_borders_between_sections_can_be_moved(border):
    with pytest.raises(EditRefused, match="no border"):
        edit.move_border(NESTED, border, Position(1))


def test_nest_groups_neighbours_and_unnest_takes_it_back():
    grouped = edit.nest(FLAT, "b", "a", "First half")
    validate(grouped)
    assert spans(grouped) == [("First half", 0, 16), ("  A", 0, 8), ("  B", 8, 16), ("C", 16, 24)]
    assert edit.unnest(grouped, grouped.sections[0].section_id) == FLAT


def test_all_of_the_top_level_can_be_grouped_but_not_all_children():
    validate(edit.nest(FLAT, "a", "c", "All"))
    with pytest.raises(EditRefused, match="already make up"):
        edit.nest(NESTED, "a1", "a2", "All")


def test_nest_refuses_single_sections_and_other_levels():
    with pytest.raises(EditRefused, match="at least two"):
        edit.nest(FLAT, "a", "a", "Alone")
    with pytest.raises(EditRefused, match="one level"):
        edit.nest(NESTED, "a1", "b1", "Crossing")
    with pytest.raises(EditRefused, match="needs a name"):
        edit.nest(FLAT, "a", "b", " ")


def test_unnest_of_a_plain_section_is_refused():
    with pytest.raises(EditRefused, match="holds no other"):
        edit.unnest(FLAT, "a")


def test_rename_tidies_and_refuses_nothing_and_novels():
    assert edit.rename(FLAT, "a", "  Bell   theme ").section("a").name == "Bell theme"
    with pytest.raises(EditRefused, match="needs a name"):
        edit.rename(FLAT, "a", "  ")
    with pytest.raises(EditRefused, match="at most 80"):
        edit.rename(FLAT, "a", "x" * 81)


def test_words_are_kept_as_written():
    written = edit.set_how_to_play(FLAT, "a", "like rain,\nnever hurried ")
    assert written.section("a").how_to_play == "like rain,\nnever hurried"


@pytest.mark.parametrize("target", [0.0, -60.0, 9.9, 601.0, float("nan")])
def test_impossible_targets_are_refused(target):
    with pytest.raises(EditRefused, match="target tempo"):
        edit.set_target(FLAT, "a", target)


def test_a_target_can_be_taken_back():
    with_target = edit.set_target(FLAT, "a", 72.0)
    assert with_target.section("a").target_quarters_per_minute == 72.0
    assert edit.set_target(with_target, "a", None) == FLAT
