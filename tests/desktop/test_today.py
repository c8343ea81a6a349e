"""The page of today: planned, ticked off by what is played, and by hand where nobody can hear."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import icalendar
import pytest
from PySide6.QtWidgets import QHeaderView

from companion.demo.takes import as_take, demo_takes
from companion.desktop.days.tables import ROW_PIXELS
from companion.desktop.palette import DAY
from companion.desktop.today.content import TodayContent, TurnLine
from companion.desktop.today.page import TodayPage
from companion.desktop.today.printing import today_document
from companion.desktop.today.table import Column
from companion.desktop.today.time_dialog import TimeDialog
from companion.history.model import TakeSource
from companion.history.planning.model import Activity
from companion.practice.planning.document import PLAN, PlanChoices, text_to_choices
from companion.practice.planning.done import AWAY
from companion.resources import sample_scores_folder

LONG_MS = 120_000


def turn(number, **changes):
    values = {
        "turn_id": f"turn {number}",
        "what": "Under tempo",
        "where": f"Section {number}",
        "tempo": "quarter = 84",
        "minutes": 5,
        "why": "The notes are not sure yet.",
        "section_id": f"s{number}",
    }
    return TurnLine(**(values | changes))


CONTENT = TodayContent(
    title="Monday, 2 March",
    headline="The hardest first.",
    turns=(turn(1, done=True), turn(2), turn(3, what="Conduct", by_hand=True)),
    minutes_planned=15,
    minutes_left=10,
    next_id="turn 2",
)


@pytest.fixture
def alone(qtbot):
    page = TodayPage(DAY)
    qtbot.addWidget(page)
    page.show_content(CONTENT)
    return page


def cell(page, row, column):
    return page._turns.data(page._turns.index(row, column))


def test_turns_stand_in_order_with_a_tick_and_the_next_one_pointed_at(alone):
    assert [cell(alone, row, Column.STATE) for row in range(3)] == ["✓", "▸", ""]
    assert alone.chosen_turn.turn_id == "turn 2"


def test_only_what_nobody_can_hear_is_ticked_by_hand(alone, qtbot):
    assert not alone._done.isEnabled()
    alone.choose_turn("turn 3")
    with qtbot.waitSignal(alone.done_by_hand) as told:
        alone._done.click()
    assert told.args == ["turn 3"]


def test_enter_opens_the_chosen_turn(alone, qtbot):
    with qtbot.waitSignal(alone.turn_opened) as told:
        alone._view.activated.emit(alone._view.currentIndex())
    assert told.args == ["turn 2"]


def test_the_chosen_turn_stays_chosen_when_the_plan_is_shown_anew(alone):
    alone.choose_turn("turn 3")
    alone.show_content(replace(CONTENT, minutes_left=4, next_id=None))
    assert alone.chosen_turn.turn_id == "turn 3"


def test_long_reasons_have_a_second_line_where_the_page_is_narrow(alone):
    long = "Slowly, and each hand by itself, until nothing has to be thought of any more."
    alone.show_content(replace(CONTENT, turns=(turn(1, why=long), turn(2, why="Due."))))
    alone.resize(600, 700)
    alone.show()
    heights = [alone._view.rowHeight(row) for row in range(2)]
    assert heights[0] > heights[1] == ROW_PIXELS
    header = alone._view.horizontalHeader()
    header.setSectionResizeMode(Column.WHY, QHeaderView.ResizeMode.Fixed)
    header.resizeSection(Column.WHY, 2000)  # as in a wide window
    assert alone._view.rowHeight(0) == ROW_PIXELS


def test_an_empty_day_says_so(alone):
    alone.show_content(TodayContent(title="Sunday", headline="A day without practice."))
    assert alone._empty.text() == "Nothing to practise today."
    assert not alone._go.isEnabled()


def test_the_printed_plan_holds_every_turn_and_no_markup_of_names():
    odd = replace(CONTENT, turns=(turn(1, where="<b>Storm & calm</b>"),))
    text = today_document(odd, "A study").toPlainText()
    assert "<b>Storm & calm</b>" in text
    assert "quarter = 84" in text


def test_time_and_days_off_are_told_when_they_change(qtbot):
    today = datetime(2026, 3, 2, tzinfo=UTC).date()
    dialog = TimeDialog(PlanChoices(), today)
    qtbot.addWidget(dialog)
    dialog.set_minutes(6, 0)
    dialog.toggle_day(today + timedelta(days=1))
    with qtbot.waitSignal(dialog.chosen) as told:
        dialog.accept()
    (choices,) = told.args
    assert choices.availability.minutes_by_weekday == (45,) * 6 + (0,)
    assert choices.availability.days_off == {today + timedelta(days=1)}


@pytest.fixture
def page(companion, qtbot):
    qtbot.waitUntil(lambda: companion.further.work.workload is not None, timeout=LONG_MS)
    companion.window.actions_by_id["page_today"].trigger()
    qtbot.waitUntil(lambda: companion.further.today.today is not None, timeout=LONG_MS)
    return companion.window.pages.today


def test_a_new_piece_is_begun_with_its_hardest_section(companion, page):
    order = companion.further.work.order
    first = next(line for line in page.content.turns if line.section_id is not None)
    assert first.section_id == order[0]
    assert page.content.minutes_planned <= 45


def test_a_take_ticks_off_what_it_did_by_itself(companion, page, qtbot):
    now = datetime.now(UTC)
    demo = demo_takes(sample_scores_folder() / "the_footbridge.musicxml", now=now)[-1]
    take = as_take(demo, piece_id=companion.stand.piece.piece_id, zone="UTC")
    companion.history.save_take(replace(take, started_at=now, source=TakeSource.PIANO))
    companion.further.takes.bring_up_to_date()
    qtbot.waitUntil(
        lambda: any(line.done or line.begun for line in page.content.turns), timeout=LONG_MS
    )


def test_turns_away_from_the_keyboard_are_kept_when_they_are_said_to_be_done(companion, page):
    wiring = companion.further.today
    ours = wiring.today.plan.turns[0]
    conducted = replace(ours.turn, activity=Activity.CONDUCT)
    changed = replace(wiring.today.plan, turns=(replace(ours, turn=conducted),))
    wiring._planned(replace(wiring.today, plan=changed))
    page.choose_turn(conducted.turn_id)
    page._done.click()
    (entry,) = companion.stand.entries(AWAY)
    assert Activity.CONDUCT.value in entry.content


def test_time_is_kept_with_the_piece_and_can_be_undone(companion, page, qtbot):
    choices = PlanChoices(
        availability=replace(PlanChoices().availability, minutes_by_weekday=(10,) * 7)
    )
    companion.further.today._time_chosen(choices)
    qtbot.waitUntil(lambda: 0 < page.content.minutes_planned <= 10, timeout=LONG_MS)
    kept = companion.history.document(companion.stand.piece.piece_id, PLAN)
    assert text_to_choices(kept) == (choices, "")
    companion.window.actions_by_id["undo"].trigger()
    qtbot.waitUntil(lambda: page.content.minutes_planned > 10, timeout=LONG_MS)


def test_discomfort_ends_the_plan_of_the_day_until_it_was_a_mistake(companion, page, qtbot):
    companion.window.actions_by_id["page_today"].trigger()
    page._hurts.click()
    qtbot.waitUntil(lambda: not page.content.turns, timeout=LONG_MS)
    assert page.content.headline == "You noted discomfort: nothing more today."
    assert page._hurts.isHidden()
    page._mistake.click()
    qtbot.waitUntil(lambda: bool(page.content.turns), timeout=LONG_MS)
    assert page._mistake.isHidden()


def test_opening_a_turn_shows_its_place(companion, page):
    line = next(each for each in page.content.turns if each.section_id is not None)
    page.turn_opened.emit(line.turn_id)
    assert companion.window.page in ("page_score", "page_grouping", "page_harmony")
    assert companion.window.map_view.selected.section_id == line.section_id


def test_the_days_are_exported_as_a_calendar(companion, page, tmp_path):
    wiring = companion.further.today
    wiring.write_calendar(tmp_path / "days.ics")
    written = icalendar.Calendar.from_ical((tmp_path / "days.ics").read_bytes())
    assert len(written.walk("VEVENT")) > 5
    wiring.write_calendar(tmp_path / "no folder" / "days.ics")
    assert "days.ics" in companion.window.messages.text
