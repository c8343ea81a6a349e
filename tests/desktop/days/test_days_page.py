from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QAbstractItemModelTester

from companion.desktop.days.content import DaysContent
from companion.desktop.days.page import DaysPage
from companion.desktop.days.printing import days_document
from companion.desktop.days.section_table import SectionTableModel
from companion.desktop.days.take_table import Column, TakeTableModel
from companion.desktop.palette import DAY, NIGHT
from tests.desktop.days import days_examples as examples


@pytest.fixture
def page(qtbot):
    widget = DaysPage(DAY)
    qtbot.addWidget(widget)
    widget.resize(1000, 560)
    widget.show()
    return widget


def shown_takes(page):
    return [page._takes.row(number).take.take_id for number in range(page._takes.rowCount())]


def test_without_takes_the_page_says_what_to_do(page):
    page.show_content(DaysContent(today=examples.TODAY))
    assert page._empty.isVisible()
    assert "Sit down and play" in page._empty.text()


def test_before_the_history_was_read_the_page_claims_nothing(page):
    page.show_content(DaysContent())
    assert page._empty.isVisible()
    assert not page._empty.text()


def test_newest_day_stands_first_in_the_table_of_sections(page):
    page.show_content(examples.content())
    titles = [page._sections.headerData(column, Qt.Orientation.Horizontal) for column in range(5)]
    assert titles[:3] == ["Section", "Measures", "Takes"]
    assert "20" in titles[3]
    assert "18" in titles[4]


def test_a_cell_gives_median_accuracy_and_tempo_in_beats(page):
    page.show_content(examples.content())
    # median of 94 and 98 per cent; 90 quarters are 60 dotted quarters (domain fact: MM dotted
    # quarter = 60 equals 90 quarters a minute)
    assert page._sections.index(0, 3).data() == "96 % · 60"


def test_choosing_a_section_shows_only_its_takes(page, qtbot):
    page.show_content(examples.content())
    assert shown_takes(page) == ["three", "two", "one"]
    with qtbot.waitSignal(page.section_chosen) as chosen:
        page._section_view.setCurrentIndex(page._sections.index(1, 0))
    assert chosen.args == ["ending"]
    assert shown_takes(page) == ["three"]
    assert page._heading.text() == "Ending, measures 9–12"


def test_section_chosen_elsewhere_is_not_told_back(page, qtbot):
    page.show_content(examples.content())
    with qtbot.assertNotEmitted(page.section_chosen):
        page.show_section("ending")
    assert shown_takes(page) == ["three"]


def test_section_marked_on_the_map_heads_the_page_before_one_is_chosen(page):
    page.mark_section("opening")
    page.show_content(examples.content())
    assert page._heading.text().startswith("Opening")
    page.mark_section("ending")
    assert page._heading.text() == "Ending, measures 9–12"
    assert len(shown_takes(page)) == len(examples.content().takes)


def test_section_marked_after_one_was_chosen_takes_its_place(page):
    page.show_content(examples.content())
    page.show_section("opening")
    page.mark_section("ending")
    assert page._heading.text().startswith("Ending")
    assert shown_takes(page) == ["three"]


def test_new_content_keeps_section_and_take_chosen(page):
    page.show_content(examples.content())
    page.show_section("opening")
    page._take_view.selectRow(1)
    page.show_content(examples.content())
    assert page.chosen_takes() == ["two"]
    assert page._heading.text().startswith("Opening")


def test_choosing_a_take_tells_its_id(page, qtbot):
    page.show_content(examples.content())
    with qtbot.waitSignal(page.take_chosen) as chosen:
        page._take_view.setCurrentIndex(page._takes.index(2, 0))
    assert chosen.args == ["one"]


def test_delete_key_throws_the_chosen_takes_away(page, qtbot):
    page.show_content(examples.content())
    page._take_view.setFocus()
    page._take_view.selectRow(0)
    with qtbot.waitSignal(page.takes_deleted) as deleted:
        qtbot.keyClick(page._take_view, Qt.Key.Key_Delete)
    assert deleted.args == [["three"]]


def test_remark_and_name_are_passed_on_but_no_other_column(page, qtbot):
    page.show_content(examples.content())
    model = page._takes
    with qtbot.waitSignal(page.take_annotated) as written:
        assert model.setData(model.index(1, Column.REMARK), " slower ")
    assert written.args == ["two", "slower"]
    with qtbot.waitSignal(page.take_renamed) as written:
        assert model.setData(model.index(1, Column.NAME), "first try")
    assert written.args == ["two", "first try"]
    assert not model.setData(model.index(1, Column.NOTES), "5")
    assert not model.setData(model.index(1, Column.REMARK), ""), "nothing changed"


def test_pointing_at_the_strip_finds_the_measure_and_its_errors(page, qtbot):
    page.show_content(examples.content())
    page.show_section("ending")
    strip = page._strip
    cell = strip._cell_width
    day, found = strip.result_at(52 + 1.5 * cell, 22 + 5)
    assert (day, found.measure_index, found.wrong) == (examples.TODAY, 9, 1)
    assert strip.result_at(10, 22 + 5) is None
    with qtbot.waitSignal(page.measure_chosen) as chosen:
        qtbot.mouseClick(strip, Qt.MouseButton.LeftButton, pos=QPoint(int(52 + 1.5 * cell), 27))
    assert chosen.args == [9]
    assert "measure 10: errors 1" in strip.accessibleDescription()


def test_chart_of_accuracy_has_one_point_per_day_and_cold_take_apart(page):
    page.show_content(examples.content())
    page.show_section("opening")
    accuracy, tempo, takes = (chart._series for chart in page._charts)
    assert [round(point.value, 4) for point in accuracy.points] == [0.90, 0.96]
    assert [point.first for point in accuracy.points] == [0.90, 0.94]
    assert accuracy.points[1].best == 0.98
    assert tempo.rule == pytest.approx(80.0), "120 quarters are 80 dotted quarters"
    assert [point.value for point in takes.points] == [1, 2]


def test_a_week_without_practice_is_seen_as_a_gap(page):
    page.show_content(examples.content())
    page.show_section("opening")
    chart = page._charts[0]
    first, second = (chart.x_at(point.day) for point in chart._series.points)
    one_day = chart.x_at(examples.TODAY) - chart.x_at(examples.TODAY.replace(day=19))
    assert second - first == pytest.approx(2 * one_day)
    assert chart.point_near(second + 3).day == examples.TODAY
    assert chart.point_near(second - one_day / 2 if one_day > 28 else 0) is None


def test_every_chart_can_be_read_aloud(page):
    page.show_content(examples.content())
    page.show_section("opening")
    for chart in page._charts:
        assert chart.accessibleName()
        assert "2 takes" in chart.accessibleDescription()


def test_both_palettes_can_be_painted(page):
    page.show_content(examples.content())
    day = page.grab().toImage()
    page.set_palette(NIGHT)
    assert page.grab().toImage() != day


def test_models_keep_the_promises_of_item_models(qtbot):
    content = examples.content()
    sections, takes = SectionTableModel(), TakeTableModel()
    testers = [
        QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Fatal)
        for model in (sections, takes)
    ]
    sections.show_content(content)
    takes.show_rows(content.takes)
    sections.show_content(DaysContent())
    takes.show_rows(())
    assert len(testers) == 2


def test_printed_days_fit_on_upright_paper_however_long_a_name_is(qapp):
    shown = examples.content()
    long = replace(shown.sections[0], name="The long road back to the opening theme " * 3)
    document = days_document(replace(shown, sections=(long, *shown.sections[1:])), "T", "C")
    document.setTextWidth(482)  # A4 less two centimetres on either side, in points
    assert document.idealWidth() <= 482


def test_tasks_are_printed_below_the_sections(qapp):
    shown = examples.content()
    task = replace(shown.sections[0], section_id="task", name="Leaps, left hand")
    printed = days_document(replace(shown, tasks=(task,)), "T", "C").toPlainText()
    assert printed.index("Sections by days") < printed.index("Tasks by days")
    assert printed.index("Tasks by days") < printed.index("Leaps, left hand")
    assert "Tasks by days" not in days_document(shown, "T", "C").toPlainText()


def test_measures_of_the_strip_are_reached_with_the_keyboard(page, qtbot):
    page.show_content(examples.content())
    strip = page._strip
    qtbot.keyClick(strip, Qt.Key.Key_Right)
    qtbot.keyClick(strip, Qt.Key.Key_Right)
    assert "Measure 3" in strip.accessibleDescription() or "not played" in (
        strip.accessibleDescription()
    )
    with qtbot.waitSignal(page.measure_chosen) as caught:
        qtbot.keyClick(strip, Qt.Key.Key_Return)
    assert caught.args == [2]


def test_it_says_when_older_takes_are_left_out_and_asks_for_them(page, qtbot):
    page.show_content(examples.content())
    assert not page._all_takes.isVisible()
    since = examples.content().takes[-1].take.started_at
    page.show_content(replace(examples.content(), since=since))
    assert page._all_takes.isVisible()
    assert str(since.year) in page._older.text()
    with qtbot.waitSignal(page.all_takes_asked):
        page._all_takes.click()
