from __future__ import annotations

import pytest

from companion.desktop.palette import DAY
from companion.desktop.section_map.editing import MapEditor
from companion.desktop.section_map.sheet import SectionSheet
from companion.score.model import Position


@pytest.fixture
def editor(qapp, measures, section_map):
    editor = MapEditor()
    editor.hold(measures, section_map)
    return editor


def test_split_cuts_at_the_measure_that_was_clicked(editor, section_map, qtbot):
    with qtbot.waitSignal(editor.edited) as edited:
        editor.split(section_map.section("c"), Position(15))
    changed, doing = edited.args
    assert [leaf.start.measure_index for leaf in changed.leaves] == [0, 8, 12, 15]
    assert doing == "Split section"


def test_split_without_a_clicked_measure_cuts_in_the_middle(editor, section_map, qtbot):
    with qtbot.waitSignal(editor.edited) as edited:
        editor.split(section_map.section("c"), Position(2))
    assert Position(18) in edited.args[0].borders


def test_merge_without_a_neighbour_is_refused_with_a_sentence(editor, section_map, qtbot):
    with qtbot.waitSignal(editor.refused) as refused, qtbot.assertNotEmitted(editor.edited):
        editor.merge(section_map.section("c"))
    assert refused.args[0].endswith(".")


def test_end_of_a_section_moves_by_whole_measures(editor, qtbot):
    with qtbot.waitSignal(editor.edited) as edited:
        editor.nudge_end("a", -1)
    assert edited.args[0].section("a").end == Position(7)
    assert edited.args[0].section("b").start == Position(7)


def test_group_is_taken_apart_from_any_of_its_members(editor, section_map, qtbot):
    with qtbot.waitSignal(editor.edited) as edited:
        editor.unnest(section_map.section("b"))
    assert "first" not in edited.args[0]


def test_an_edit_that_changes_nothing_is_not_told(editor, qtbot):
    with qtbot.assertNotEmitted(editor.edited):
        editor.rename("a", "A")


@pytest.fixture
def sheet(qtbot, measures, section_map):
    sheet = SectionSheet(DAY)
    qtbot.addWidget(sheet)
    sheet.show_section(section_map.section("a"), measures)
    sheet.show()
    return sheet


def test_sheet_stores_the_purpose_when_the_field_is_left(sheet, qtbot):
    sheet._purpose.setFocus()
    sheet._purpose.setPlainText("the return of the opening")
    with qtbot.waitSignal(sheet.written) as written:
        sheet._how.setFocus()
    assert written.args[0].purpose == "the return of the opening"
    assert written.args[0].section_id == "a"


def test_sheet_names_the_beat_and_turns_it_into_quarters(qtbot, sheet, section_map):
    from fractions import Fraction

    from companion.score.model import Measure

    compound = tuple(
        Measure(
            index=index,
            number=str(index + 1),
            start_quarters=Fraction(3 * index),
            duration_quarters=Fraction(3),
            beats=6,
            beat_type=8,
        )
        for index in range(24)
    )
    sheet.show_section(section_map.section("b"), compound)
    assert "dotted quarter" in sheet._unit.text()
    with qtbot.waitSignal(sheet.written) as written:
        sheet._target.setValue(60)
    # MM dotted quarter = 60 is 90 quarters a minute (domain fact 46)
    assert written.args[0].target_quarters_per_minute == pytest.approx(90.0)


def test_sheet_without_a_section_says_what_to_do(sheet):
    sheet.show_section(None, ())
    assert "Choose a section" in sheet._why.text()
    assert not sheet._name.isEnabled()


def test_another_first_measure_moves_the_border(sheet, qtbot, measures, section_map):
    sheet.show_section(section_map.section("b"), measures)
    with qtbot.waitSignal(sheet.border_moved) as moved:
        sheet._first.activated.emit(6)
    assert moved.args == [Position(8), Position(6)]
