"""The page of the readiness: the answer in words, and a check that hears what is played."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction

import pytest
from PySide6.QtCore import Qt

from companion.demo.takes import as_take, demo_takes
from companion.desktop.readiness.content import (
    CheckOver,
    PastCheck,
    ReadinessContent,
    ReadySection,
    StepShown,
)
from companion.desktop.readiness.filling import named_chords
from companion.desktop.readiness.page import ReadinessPage
from companion.desktop.readiness.printing import readiness_document
from companion.desktop.readiness.wording import memory_text
from companion.history.knowing.standing import FromMemory
from companion.history.model import TakeSource
from companion.history.readiness.check_record import READINESS_CHECK, record_of
from companion.history.recited import Recited
from companion.resources import sample_scores_folder

LONG_MS = 120_000

CONTENT = ReadinessContent(
    sentences=("About 6 of 10 runs would go without a stop.", "About 4 slips in a run."),
    sections=(
        ReadySection(
            section_id="a",
            name="Opening <1>",
            without_stop="92 % (71–99, from 8)",
            slips="1.4 (0.3–3.1)",
            tempo="97 %",
            known="4 days",
            from_memory="2 of 3 clean",
            last_from_memory="The last time on Mon 2 Mar.",
            checked="held",
        ),
        ReadySection(
            section_id="b",
            name="Coda",
            without_stop="never played cold",
            slips="",
            tempo="",
            known="not yet",
            checked="",
            weakest=True,
        ),
    ),
    checks=(PastCheck(when="Mon 2 Mar", without_stop="60 %", starts="5 of 6", says="Better."),),
)


@pytest.fixture
def alone(qtbot):
    page = ReadinessPage()
    qtbot.addWidget(page)
    page.show_content(CONTENT)
    return page


def test_the_answer_stands_above_and_every_section_below(alone, qtbot):
    assert alone._answer.text() == CONTENT.sentences[0]
    assert alone._sections.rowCount() == 2
    with qtbot.waitSignal(alone.section_chosen) as told:
        alone._section_view.clicked.emit(alone._sections.index(1, 0))
    assert told.args == ["b"]


def test_what_was_tried_from_memory_stands_in_words_and_when_in_the_tip(alone):
    titles = [
        alone._sections.headerData(column, Qt.Orientation.Horizontal)
        for column in range(alone._sections.columnCount())
    ]
    tried, never = (alone._sections.index(row, titles.index("From memory")) for row in (0, 1))
    assert tried.data() == "2 of 3 clean"
    assert "Mon 2 Mar" in tried.data(Qt.ItemDataRole.ToolTipRole)
    assert never.data() == ""
    facts = FromMemory(tried=3, clean=2, last_day=date(2026, 3, 2))
    assert memory_text(facts, by_heart=False) == "2 of 3 clean"
    assert memory_text(FromMemory(), by_heart=True) == "not tried"
    assert memory_text(FromMemory(), by_heart=False) == ""


def test_a_step_fills_the_panel_and_an_answer_is_asked_for_only_where_it_is_wanted(alone, qtbot):
    panel = alone.check
    panel.show_step(StepShown(number=3, count=14, says="Start at measure 17."))
    assert panel.running
    assert not panel._answer.isVisibleTo(panel)
    panel.show_step(StepShown(number=4, count=14, says="Name the chord.", answer_wanted=True))
    assert panel._answer.isVisibleTo(panel)
    with qtbot.waitSignal(panel.answered) as told:
        panel.give("d: iv6")
    assert told.args == ["d: iv6"]
    panel.show_over(CheckOver(says="Through without a stop.", lines=("✓  Play it.",)))
    assert not panel.running


def test_only_the_newest_chords_that_were_named_count():
    old, new = (
        Recited(
            entry_id=f"{number}",
            piece_id="piece",
            happened_at=datetime(2026, 3, 2, 17, number % 60, tzinfo=UTC),
            zone="UTC",
            start_quarters=Fraction(number % 8),
            parts=(right, right, right, right),
            answer="V",
            with_score=False,
        )
        for number, right in ((1, False), (2, True))
    )
    answers = [replace(old, entry_id=f"old {n}") for n in range(9)]
    answers += [replace(new, entry_id=f"new {n}") for n in range(10)]
    limits = {"a": (Fraction(0), Fraction(4)), "b": (Fraction(4), Fraction(8))}
    named = named_chords(answers, limits)
    assert (named["a"].passed, named["a"].count) == (10, 12)
    assert named["b"].count == 0


def test_the_printed_page_holds_all_figures_and_no_markup_of_names():
    text = readiness_document(CONTENT, "A study").toPlainText()
    for words in (
        "Opening <1>",
        "92 % (71–99, from 8)",
        "About 4 slips in a run.",
        "5 of 6",
        "2 of 3 clean",
    ):
        assert words in text


@pytest.fixture
def page(companion, qtbot):
    qtbot.waitUntil(lambda: companion.further.work.workload is not None, timeout=LONG_MS)
    companion.window.actions_by_id["page_readiness"].trigger()
    qtbot.waitUntil(lambda: companion.further.readiness.found is not None, timeout=LONG_MS)
    return companion.window.pages.readiness


def test_of_a_new_piece_nothing_is_claimed(page):
    assert page.content.sentences[0] == "Nothing has been played cold yet, so nothing can be told."


def test_a_check_hears_a_run_goes_on_and_is_kept_with_its_results(companion, page, qtbot):
    wiring = companion.further.readiness
    page.check.begun.emit()
    assert page.check.says == "Play the whole piece, without stopping, whatever happens."
    now = datetime.now(UTC)
    demo = demo_takes(sample_scores_folder() / "the_footbridge.musicxml", now=now)[-1]
    take = as_take(demo, piece_id=companion.stand.piece.piece_id, zone="UTC")
    take = replace(take, started_at=now, source=TakeSource.PIANO)
    companion.history.save_take(take)
    companion.further.takes.take_finished(take)
    qtbot.waitUntil(
        lambda: wiring.check is not None and bool(wiring.check.results), timeout=LONG_MS
    )
    assert page.check.says.startswith("Start at measure ")
    page.check.left_out.emit()
    page.check.ended.emit()
    qtbot.waitUntil(lambda: bool(companion.stand.entries(READINESS_CHECK)), timeout=LONG_MS)
    (entry,) = companion.stand.entries(READINESS_CHECK)
    results = record_of(entry).check.results
    assert results[0].done_id == take.take_id
    assert results[1].passed is None
    qtbot.waitUntil(lambda: bool(page.content.checks), timeout=LONG_MS)


def test_a_dress_rehearsal_shows_nothing_of_what_is_played(companion, page, qtbot):
    page.check.rehearsal.setChecked(True)
    note = next(note for note in companion.stand.score.notes if note.expected)
    companion.further.piano.play_on_screen(bytes([0x90, note.pitch, 64]))
    qtbot.waitUntil(lambda: companion.further.listening._notes_in_take == 1, timeout=LONG_MS)
    companion.further.piano.play_on_screen(bytes([0x80, note.pitch, 64]))
    assert companion.further.listening._to_say is None
    assert not companion.further.listening._say_timer.isActive()
    page.check.rehearsal.setChecked(False)
