from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QContextMenuEvent, QFontMetricsF
from PySide6.QtWidgets import QWidget

from companion.desktop import typography
from companion.desktop.palette import DAY, NIGHT
from companion.desktop.section_map.figures import MapFigures, MeasureFigures, SectionFigures
from companion.desktop.section_map.lane_painting import _text_columns
from companion.desktop.section_map.lanes_menu import LanesMenu
from companion.desktop.section_map.layout import (
    ERRORS,
    LANE_PIXELS,
    STRIP_PIXELS,
    TAKE_LANES,
    Lane,
    MapLayout,
)
from companion.desktop.section_map.map_view import SectionMapView
from companion.desktop.section_map.overlay import Leap, leap_path
from companion.desktop.section_map.picture import MapPicture
from companion.score.model import Position

TODAY = date(2026, 3, 20)


@pytest.fixture
def view(qtbot, measures, section_map):
    view = SectionMapView(DAY)
    qtbot.addWidget(view)
    view.resize(1000, view.sizeHint().height())
    view.show_map(measures, section_map)
    view.resize(1000, view.sizeHint().height())
    view.show()
    return view


def band_point(view, measure_index, fraction=0.5):
    layout = view.geometry_now
    x = layout.left + (measure_index + fraction) * layout.measure_width
    return QPoint(round(x), round(layout.band_top + 14))


def border_point(view, measure_index):
    return band_point(view, measure_index, fraction=0.0)


def test_all_measures_are_equally_wide_and_fill_the_band(measures, section_map):
    layout = MapLayout(measures, section_map, 1000.0)
    assert layout.x_at(Position(24)) == pytest.approx(1000 - 24)
    assert layout.x_at(Position(6)) - layout.x_at(Position(0)) == pytest.approx(
        layout.x_at(Position(24)) / 4 - layout.x_at(Position(0)) / 4
    )


def test_place_inside_a_measure_lies_in_proportion_to_its_offset(measures, section_map):
    layout = MapLayout(measures, section_map, 1000.0)
    start, end = layout.x_at(Position(3)), layout.x_at(Position(4))
    assert layout.x_at(Position(3, Fraction(1))) == pytest.approx(start + (end - start) / 4)


def test_click_on_the_band_chooses_the_section_and_its_measure(view, qtbot):
    with (
        qtbot.waitSignal(view.section_chosen) as section,
        qtbot.waitSignal(view.place_chosen) as at,
    ):
        qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=band_point(view, 9))
    assert section.args == ["b"]
    assert at.args == [Position(9)]
    assert view.split_place == Position(9)


def test_click_on_a_bracket_chooses_the_larger_section(view, qtbot):
    row = view.geometry_now.rows[0]
    point = QPoint(band_point(view, 3).x(), round(row.top + 8))
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=point)
    assert view.selected.section_id == "first"


def test_dragged_border_snaps_to_the_next_bar_line(view, qtbot):
    with qtbot.waitSignal(view.border_moved) as moved:
        qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=border_point(view, 8))
        qtbot.mouseMove(view, band_point(view, 5, 0.7))
        qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=band_point(view, 5, 0.7))
    assert moved.args == [Position(8), Position(6)]


def test_border_put_down_where_it_was_moves_nothing(view, qtbot):
    with qtbot.assertNotEmitted(view.border_moved):
        qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=border_point(view, 8))
        qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=border_point(view, 8))


def test_end_of_the_piece_cannot_be_dragged(view):
    layout = view.geometry_now
    assert layout.border_at(layout.x_at(Position(24)), layout.band_top + 10) is None


def test_escape_lets_a_border_go_where_it_was(view, qtbot):
    with qtbot.assertNotEmitted(view.border_moved):
        qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=border_point(view, 8))
        qtbot.mouseMove(view, band_point(view, 5))
        qtbot.keyClick(view, Qt.Key.Key_Escape)
        qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=band_point(view, 5))


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        ([Qt.Key.Key_Right], "a"),
        ([Qt.Key.Key_Right, Qt.Key.Key_Right], "b"),
        ([Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Left], "a"),
        ([Qt.Key.Key_End], "c"),
        ([Qt.Key.Key_End, Qt.Key.Key_Home], "a"),
        ([Qt.Key.Key_Home, Qt.Key.Key_Up], "first"),
        ([Qt.Key.Key_Home, Qt.Key.Key_Up, Qt.Key.Key_Down], "a"),
    ],
)
def test_arrow_keys_walk_through_the_sections(view, qtbot, keys, expected):
    for key in keys:
        qtbot.keyClick(view, key)
    assert view.selected.section_id == expected


def test_alt_and_arrow_ask_for_the_border_to_move_by_a_measure(view, qtbot):
    view.select("a")
    with qtbot.waitSignal(view.border_nudged) as nudged:
        qtbot.keyClick(view, Qt.Key.Key_Right, Qt.KeyboardModifier.AltModifier)
    assert nudged.args == ["a", 1]


def test_shift_and_arrow_move_the_place_where_a_section_would_be_split(view, qtbot):
    view.select("b")
    qtbot.keyClick(view, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    assert view.split_place == Position(9)


def test_enter_opens_the_sheet(view, qtbot):
    view.select("c")
    with qtbot.waitSignal(view.sheet_asked) as asked:
        qtbot.keyClick(view, Qt.Key.Key_Return)
    assert asked.args == ["c"]


def test_name_is_written_on_the_map_itself(view, qtbot):
    view.select("b")
    view.edit_name()
    edit = view._name_edit
    edit.setText("Bridge")
    with qtbot.waitSignal(view.renamed) as renamed:
        qtbot.keyClick(edit, Qt.Key.Key_Return)
    assert renamed.args == ["b", "Bridge"]


def test_escape_leaves_the_name_as_it_was(view, qtbot):
    view.select("b")
    view.edit_name()
    view._name_edit.setText("Bridge")
    with qtbot.assertNotEmitted(view.renamed):
        qtbot.keyClick(view._name_edit, Qt.Key.Key_Escape)
    assert view._name_edit is None


def test_screen_readers_are_told_the_selected_section_with_its_figures(view):
    view.show_figures(
        MapFigures(
            sections=(
                SectionFigures(
                    section_id="a",
                    takes=3,
                    takes_of_day=2,
                    last_played=date(2026, 3, 19),
                    accuracy=0.96,
                    running_quarters_per_minute=84,
                    target_quarters_per_minute=96,
                ),
            ),
            today=TODAY,
        )
    )
    view.select("a")
    words = view.accessibleDescription()
    for part in ("A, measures 1–8", "sets out", "96 %", "84 of 96", "3 takes", "yesterday"):
        assert part in words


def test_pointer_on_the_strip_tells_the_errors_of_the_measure(view):
    view.show_figures(
        MapFigures(measures=(MeasureFigures(measure_index=4, errors=3, expected=40),), today=TODAY)
    )
    layout = view.geometry_now
    x = round(layout.left + 4.5 * layout.measure_width)
    assert view.words_at(QPoint(x, round(layout.strip_top + 5))) == (
        "Measure 5: 3 errors in 40 notes."
    )


def test_pointer_on_the_name_of_a_lane_tells_its_definition(view):
    view.show_definitions({Lane.ACCURACY: "What accuracy means."})
    point = QPoint(30, round(view.geometry_now.lane_top(Lane.ACCURACY) + 5))
    assert view.words_at(point) == "What accuracy means."


def test_reason_of_a_proposed_border_is_told(view):
    assert "double bar" in view.words_at(band_point(view, 15))


def test_only_the_strip_around_the_place_is_painted_again(view, qtbot):
    qtbot.waitUntil(lambda: view._drawing.shown is not None)
    kept = view._drawing.shown.cacheKey()
    view.show_place(Position(5))
    view.repaint()
    assert view._drawing.shown.cacheKey() == kept


def test_new_figures_are_drawn_in_slices_while_the_old_drawing_is_shown(view, qtbot, section_map):
    qtbot.waitUntil(lambda: view._drawing.shown is not None)
    before = view._drawing.shown.cacheKey()
    figures = MapFigures(sections=(SectionFigures(section_id="a", takes=3),), today=TODAY)
    with qtbot.waitSignal(view._drawing.renewed, timeout=30_000):
        view.show_figures(figures)
        view.repaint()
        assert view._drawing.shown.cacheKey() == before
    in_slices = view.grab().toImage()
    view._drawing.forget()
    assert view.grab().toImage() == in_slices
    view.show_figures(replace(figures))
    assert not view._drawing.is_being_renewed  # the same again


def test_a_drawing_that_is_being_made_is_given_up_when_the_map_is_hidden(view, qtbot, measures):
    qtbot.waitUntil(lambda: view._drawing.shown is not None)
    view.show_figures(MapFigures(today=TODAY, takes_to_work_out=2))
    view.hide()
    assert not view._drawing.is_being_renewed
    view.show()
    qtbot.waitUntil(lambda: view._drawing.shown is not None)


def test_selection_survives_an_edit_that_keeps_the_section(view, measures, section_map):
    view.select("b")
    view.show_map(measures, section_map)
    assert view.selected.section_id == "b"


def test_single_lanes_can_be_hidden_and_the_map_is_lower(view):
    whole = view.geometry_now
    view.hide_lanes(frozenset({Lane.WORK, Lane.TAKES, ERRORS}))
    layout = view.geometry_now
    assert whole.height_pixels - layout.height_pixels == 2 * LANE_PIXELS + STRIP_PIXELS
    assert set(whole.lanes) - set(layout.lanes) == {Lane.WORK, Lane.TAKES}
    foot = QPoint(round(layout.left) + 5, round(layout.height_pixels) - 3)
    assert "Measure" not in view.words_at(foot)  # no errors of a measure are told there
    view.grab()
    view.hide_lanes(frozenset())
    assert view.geometry_now == whole


def test_map_without_any_lane_of_takes_is_drawn_before_and_after_the_first_take(view):
    view.hide_lanes(frozenset(TAKE_LANES))
    view.grab()
    view.show_figures(MapFigures())
    assert not view.grab().isNull()


def test_names_of_the_lanes_have_a_menu_of_their_own(view, qtbot):
    name = QPoint(30, round(view.geometry_now.lane_top(Lane.ACCURACY) + 5))
    event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, name, view.mapToGlobal(name))
    with qtbot.waitSignal(view.lanes_menu_asked), qtbot.assertNotEmitted(view.menu_asked):
        view.contextMenuEvent(event)


def test_menu_of_the_lanes_tells_one_change_at_a_time_and_brings_all_back(qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    menu, told = LanesMenu(window), []
    menu.hidden_changed.connect(told.append)
    menu.hide_lanes(frozenset({Lane.TEMPO, ERRORS, "no lane"}))
    assert told == [frozenset({Lane.TEMPO, ERRORS})]
    everything = menu.actions()[-1]
    everything.trigger()
    assert told[1:] == [frozenset()]
    assert not everything.isEnabled()


def test_hidden_lanes_leave_the_band(view, qtbot):
    tall = view.sizeHint().height()
    view.show_lanes(False)
    assert view.sizeHint().height() < tall
    view.resize(1000, view.sizeHint().height())
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=band_point(view, 15))
    assert view.selected.section_id == "c"


def test_a_map_without_a_piece_is_empty_and_says_so(qtbot):
    view = SectionMapView(NIGHT)
    qtbot.addWidget(view)
    view.resize(800, 150)
    view.show()
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=QPoint(400, 60))
    assert view.selected is None
    assert "No piece" in view.accessibleDescription()


def test_returns_and_jumps_are_told_in_words(view):
    back = Leap(Position(9), Position(2))
    view.show_leaps((back, Leap(Position(3), Position(20))))
    layout = view.geometry_now
    at_its_foot = QPoint(round(layout.x_at(back.end)), round(layout.returns_foot))
    assert view.words_at(at_its_foot) == (
        "The playing broke off in measure 10 and went back to measure 3."
    )
    ahead = QPoint(round(layout.x_at(Position(20))), round(layout.returns_foot))
    assert "went on in measure 21" in view.words_at(ahead)


def test_same_measure_again_is_a_loop_wide_enough_to_be_seen(view):
    path = leap_path(view.geometry_now, Leap(Position(5), Position(5)))
    assert path.boundingRect().width() >= 8
    assert path.boundingRect().height() >= 3


def test_unsure_place_looks_different_from_a_sure_one(view):
    view.show_place(Position(5), sure=True)
    sure = view.grab().toImage()
    view.show_place(Position(5), sure=False)
    assert view.grab().toImage() != sure


def test_map_with_the_focus_and_a_wedge_still_shows_its_sections(view, qtbot):
    view.mark_split_place(Position(5))
    view.activateWindow()
    view.setFocus()
    qtbot.waitUntil(view.hasFocus)
    focused = view.grab().toImage()
    view.clearFocus()
    without = view.grab().toImage()
    inside = view.rect().adjusted(2, 2, -2, -2)
    assert focused.copy(inside) == without.copy(inside)
    assert focused != without


def test_bars_of_a_lane_begin_in_line_whatever_their_figures(measures, section_map):
    sections = tuple(
        SectionFigures(
            section_id=name, takes=1, accuracy=accuracy, running_quarters_per_minute=60.0
        )
        for name, accuracy in (("a", 1.0), ("b", 0.5), ("c", 0.07))
    )
    picture = MapPicture(
        layout=MapLayout(measures, section_map, 1000.0),
        figures=MapFigures(sections=sections, today=TODAY),
        palette=DAY,
        selected_id=None,
    )
    metrics = QFontMetricsF(typography.sans(typography.SMALL_POINTS))
    assert _text_columns(picture, metrics)[Lane.ACCURACY] >= metrics.horizontalAdvance("100 %")


def test_measures_in_a_narrow_section_lose_their_word_before_their_numbers(
    qtbot, measures, section_map
):
    def drawn(name):
        narrow = replace(section_map.sections[-1], section_id="n", name=name, why="")
        view = SectionMapView(DAY)
        qtbot.addWidget(view)
        end = replace(section_map, sections=(*section_map.sections[:-1], narrow))
        view.show_map(measures, end)
        view.resize(260, view.sizeHint().height())
        return view.grab().toImage()

    assert drawn("mm. 13–24 and on") == drawn("13–24 and on")
    assert drawn("mm. 13–24 and on") != drawn("MM. 13–24 and on")
