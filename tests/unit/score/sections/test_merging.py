"""A new proposal meets a map that was edited."""

from companion.score.model import Position
from companion.score.sections import edits as edit
from companion.score.sections.merging import merge_proposal
from companion.score.sections.section_map import Section, SectionMap, arranged, validate


def section(name: str, start: int, end: int, parent: str | None = None) -> Section:
    return Section(
        section_id=name.lower(), name=name, start=Position(start), end=Position(end),
        parent_id=parent, why="double bar",
    )  # fmt: skip


BEFORE = arranged([section("A", 0, 8), section("B", 8, 16), section("C", 16, 24)])
AFTER = arranged(
    [
        section("A", 0, 12),
        section("A1", 0, 6, "a"),
        section("A2", 6, 12, "a"),
        section("D", 12, 20),
        section("E", 20, 24),
    ]
)


def spans(section_map: SectionMap) -> list[tuple[str, int, int]]:
    return [(s.name, s.start.measure_index, s.end.measure_index) for s in section_map.top_level]


def test_an_untouched_map_takes_the_new_proposal() -> None:
    assert merge_proposal(BEFORE, BEFORE, AFTER) == AFTER


def test_a_renamed_section_stays_and_the_rest_is_proposed_anew() -> None:
    edited = edit.rename(BEFORE, "b", "The bell")
    merged = merge_proposal(edited, BEFORE, AFTER)
    validate(merged, AFTER.end)
    assert spans(merged) == [("A", 0, 8), ("The bell", 8, 16), ("D", 16, 20), ("E", 20, 24)]
    assert merged.section("b") == edited.section("b")


def test_words_about_a_section_keep_it() -> None:
    edited = edit.set_purpose(BEFORE, "c", "comes home")
    merged = merge_proposal(edited, BEFORE, AFTER)
    assert merged.section("c").purpose == "comes home"
    assert spans(merged)[-1] == ("C", 16, 24)


def test_a_moved_border_keeps_the_sections_on_both_sides() -> None:
    edited = edit.move_border(BEFORE, Position(8), Position(9))
    merged = merge_proposal(edited, BEFORE, AFTER)
    assert spans(merged)[:2] == [("A", 0, 9), ("B", 9, 16)]


def test_joined_sections_stay_joined() -> None:
    edited = edit.merge(BEFORE, "a")
    assert spans(merge_proposal(edited, BEFORE, AFTER))[0] == ("A", 0, 16)


def test_a_phrase_that_was_named_keeps_the_section_around_it() -> None:
    edited = edit.rename(AFTER, "a2", "The turn")
    merged = merge_proposal(edited, AFTER, BEFORE)
    validate(merged, BEFORE.end)
    assert merged.section("a2").name == "The turn"
    assert merged.section("a1") == AFTER.section("a1")
    assert spans(merged) == [("A", 0, 12), ("B", 12, 16), ("C", 16, 24)]


def test_taking_sections_out_of_a_section_is_an_edit_too() -> None:
    edited = edit.merge(AFTER, "a1")
    merged = merge_proposal(edited, AFTER, BEFORE)
    assert spans(merged)[0] == ("A", 0, 12)
    assert merged.children("a") == ()


def test_when_the_old_proposal_is_not_known_nothing_is_replaced() -> None:
    assert merge_proposal(BEFORE, SectionMap(sections=()), AFTER) == BEFORE


def test_a_map_of_another_text_is_left_alone() -> None:
    longer = arranged([*AFTER.sections, section("F", 24, 30)])
    edited = edit.rename(BEFORE, "a", "Mine")
    assert merge_proposal(edited, BEFORE, longer) == edited


def test_an_id_is_never_given_twice() -> None:
    edited = edit.move_border(BEFORE, Position(16), Position(17))
    merged = merge_proposal(edited, BEFORE, arranged([section("B", 0, 12), section("C", 12, 24)]))
    validate(merged, BEFORE.end)
    ids = [each.section_id for each in merged.sections]
    assert len(set(ids)) == len(ids)
