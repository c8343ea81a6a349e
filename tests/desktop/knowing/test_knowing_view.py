import pytest
from PySide6.QtCore import QPoint, Qt

from companion.desktop.knowing.content import KnowingContent
from companion.desktop.knowing.rules_dialog import RulesDialog
from companion.desktop.knowing.view import KnowingView
from companion.desktop.palette import DAY, NIGHT
from companion.history.knowing.clean import Thresholds
from tests.desktop.knowing.knowing_examples import TODAY, a_content


@pytest.fixture
def view(qtbot):
    widget = KnowingView(DAY)
    qtbot.addWidget(widget)
    widget.resize(900, 420)
    widget.show()
    return widget


def test_the_one_question_is_answered_and_what_to_begin_with_is_named(view):
    view.show_content(a_content())
    assert view.answer.startswith("Hardly: ")
    assert view._changes.isVisible()
    assert view._changes.text().startswith("Begin with Close")


def test_before_the_first_cold_take_it_is_said_what_one_is(view):
    view.show_content(a_content({}))
    assert "Nothing has been played cold yet" in view.answer
    assert not view._changes.isVisible()


def test_rows_and_cold_takes_are_reached_with_the_arrow_keys(view, qtbot):
    view.show_content(a_content())
    chart = view.chart
    assert chart.accessibleDescription().startswith("Coda, measures 33–40; known since")
    qtbot.keyClick(chart, Qt.Key.Key_Down)
    qtbot.keyClick(chart, Qt.Key.Key_Down)
    assert chart.accessibleDescription().startswith("Trio")
    qtbot.keyClick(chart, Qt.Key.Key_Left)
    assert "not clean: 1 stop" in chart.accessibleDescription()
    qtbot.keyClick(chart, Qt.Key.Key_Left)
    qtbot.keyClick(chart, Qt.Key.Key_Left)
    assert chart.accessibleDescription().endswith("cold take clean")
    with qtbot.waitSignal(chart.section_chosen) as chosen:
        qtbot.keyClick(chart, Qt.Key.Key_Return)
    assert chosen.args == ["Trio"]


def test_a_click_chooses_the_section_of_the_row(view, qtbot):
    view.show_content(a_content())
    with qtbot.waitSignal(view.section_chosen) as chosen:
        qtbot.mouseClick(view.chart, Qt.MouseButton.LeftButton, pos=QPoint(20, 22 + 36 + 10))
    assert chosen.args == ["Opening"]


def test_the_take_under_the_pointer_is_told_and_beside_it_the_row(view):
    view.show_content(a_content())
    chart = view.chart
    row = a_content().rows[2]
    take = row.standing.cold_takes[-1]
    height = 22 + 2.5 * 36
    assert "not clean: 1 stop" in chart.words_at(chart.x_at(take.day), height)
    assert "likely to come out clean" in chart.words_at(chart.width() - 20, height)
    assert chart.words_at(10, 5).startswith("Cold take:")
    assert chart.x_at(TODAY) > chart.x_at(take.day)


def test_clean_and_not_clean_differ_in_shape_not_in_colour_alone(view):
    view.show_content(a_content({"Opening": "cx"}))
    chart = view.chart
    image = chart.grab().toImage()
    middle = 22 + 18

    def is_filled(day):
        at = image.pixelColor(round(chart.x_at(day) + 2), middle)
        return at.lightness() < 120

    clean, not_clean = a_content({"Opening": "cx"}).rows[0].standing.cold_takes
    assert is_filled(clean.day)
    assert not is_filled(not_clean.day)


def test_it_paints_by_day_and_at_night_and_when_empty(view):
    for palette in (DAY, NIGHT):
        view.set_palette(palette)
        view.show_content(a_content())
        assert not view.grab().isNull()
    view.show_content(KnowingContent())
    assert not view.grab().isNull()
    assert view.chart.accessibleDescription() == "no section yet"


def test_rules_in_the_form_are_those_that_were_shown(qtbot):
    own = Thresholds(
        errors_per_100=1.5,
        tempo_share=0.9,
        edge_errors=1,
        days_to_know=4,
        lapse_of=5,
        lapse_misses=3,
        stops=1,
        spread_days=9,
    )
    dialog = RulesDialog(own)
    qtbot.addWidget(dialog)
    assert dialog.rules == own
    dialog.show_rules(Thresholds())
    assert dialog.rules == Thresholds()


def test_the_form_cannot_ask_for_more_misses_than_takes_and_tells_the_rules(qtbot):
    dialog = RulesDialog(Thresholds())
    qtbot.addWidget(dialog)
    dialog._misses.setValue(6)
    assert (dialog.rules.lapse_misses, dialog.rules.lapse_of) == (6, 6)
    assert "6 of the last 6 cold takes" in dialog._told.text()
    with qtbot.waitSignal(dialog.rules_chosen) as chosen:
        dialog._accepted()
    assert chosen.args[0].lapse_misses == 6
