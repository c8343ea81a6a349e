"""Playing from memory: the score is covered, takes are noted so, and it can be corrected."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from PySide6.QtWidgets import QPushButton

from companion.demo.takes import as_take, demo_takes
from companion.desktop.days import wording
from companion.desktop.days.take_table import Column, TakeTableModel
from companion.desktop.wiring.take_lines import today_lines
from companion.history.edits import ChangeDocument
from companion.history.model import TakeSource
from companion.history.readiness.check_steps import CheckKind
from companion.listening.notes import Hands
from companion.practice.planning.document import PLAN, PlanChoices, choices_to_text
from companion.resources import sample_scores_folder
from tests.desktop.days import days_examples

LONG_MS = 120_000  # for worker processes on a busy machine; never waited for where all is well
HANDS = {Hands.BOTH: "both hands"}


def test_the_lists_of_takes_say_from_memory_where_they_name_the_hands(qapp):
    content = days_examples.content()
    first = content.takes[0]
    by_heart = replace(first, take=replace(first.take, from_memory=True))
    with_score = replace(first, take=content.takes[1].take)
    content = replace(content, takes=(by_heart, with_score))
    one, other = (line.figures for line in today_lines(content, HANDS))
    assert one.endswith("both hands, from memory")
    assert other.endswith("both hands")
    model = TakeTableModel()
    model.show_rows(content.takes)
    told = [model.index(row, Column.HANDS).data() for row in range(2)]
    assert told == ["both hands, from memory", "both hands"]
    assert model.is_from_memory(first.take.take_id)
    assert wording.hands(None, from_memory=True) == "from memory"


def play(companion, qtbot, *, meanwhile=lambda: None):
    """Play the first notes on the screen; return the take as it is kept."""
    keys = companion.window.keyboard
    notes = companion.stand.score.notes[:24]
    with qtbot.waitSignal(companion.piano.take_begun):
        for note in notes:
            keys.played.emit(bytes((0x90, note.pitch, 70)))
            keys.played.emit(bytes((0x80, note.pitch, 64)))
    meanwhile()
    keys.played.emit(bytes((0x90, notes[0].pitch, 70)))
    keys.played.emit(bytes((0x80, notes[0].pitch, 64)))
    with qtbot.waitSignal(companion.piano.take_finished) as finished:
        companion.window.actions_by_id["end_take"].trigger()
    take_id = finished.args[0].take_id
    assert companion.further.journal.flush(30.0)
    return companion.history.take(take_id)


def told_of(window, take_id):
    """Whether the list of today says of a take that it was from memory; None without it."""
    model = window.listener._model
    lines = [model.line(row) for row in range(model.rowCount())]
    found = [line.figures.endswith(", from memory") for line in lines if line.take_id == take_id]
    return found[0] if found else None


def test_while_the_score_is_covered_takes_are_from_memory(companion, qtbot):
    window, covering = companion.window, companion.window.actions_by_id["from_memory"]
    covering.trigger()
    cover = window.late_cover.get()
    assert not cover.isHidden()
    assert window.pages.score.isHidden()
    take = play(companion, qtbot)
    assert take.from_memory
    qtbot.waitUntil(lambda: window.listener._take.text().endswith(", from memory"), timeout=LONG_MS)
    button = cover.findChild(QPushButton)
    other = play(companion, qtbot, meanwhile=button.click)
    assert not other.from_memory
    assert not covering.isChecked()
    assert cover.isHidden()
    assert not window.pages.score.isHidden()
    covering.trigger()
    companion.stand.lay(companion.stand.open_piece, companion.stand.section_map)
    assert not covering.isChecked()
    assert not companion.piano.sitting._from_memory

    # corrected afterwards: the take was played with the score after all
    rows = companion.takes
    qtbot.waitUntil(lambda: rows._row(take.take_id) is not None, timeout=LONG_MS)
    page = window.pages.days
    page.takes_from_memory.emit([take.take_id], False)
    assert not companion.history.take(take.take_id).from_memory
    undo = window.actions_by_id["undo"]
    assert undo.text().endswith("Take played with the score")
    undo.trigger()
    assert companion.history.take(take.take_id).from_memory
    qtbot.waitUntil(
        lambda: (
            [told_of(window, take_id) for take_id in (take.take_id, other.take_id)] == [True, False]
        ),
        timeout=LONG_MS,
    )


def test_the_take_of_a_memory_step_of_a_check_is_noted_so(companion, qtbot):
    stand, wiring = companion.stand, companion.further.readiness
    piece_id = stand.piece.piece_id
    choices = choices_to_text(PlanChoices(from_memory=True))
    stand.do(ChangeDocument(piece_id, PLAN, stand.document(PLAN), choices, "Plan"))
    qtbot.waitUntil(lambda: companion.further.work.workload is not None, timeout=LONG_MS)
    companion.window.actions_by_id["page_readiness"].trigger()
    qtbot.waitUntil(lambda: wiring.found is not None, timeout=LONG_MS)
    panel = companion.window.pages.readiness.check
    panel.begun.emit()
    while wiring.check.next_step.kind is not CheckKind.MEMORY:
        panel.left_out.emit()
    now = datetime.now(UTC)
    demo = demo_takes(sample_scores_folder() / "the_footbridge.musicxml", now=now)[-1]
    take = replace(
        as_take(demo, piece_id=piece_id, zone="UTC"), started_at=now, source=TakeSource.PIANO
    )
    companion.history.save_take(take)
    done = len(wiring.check.results)
    companion.further.takes.take_finished(take)
    qtbot.waitUntil(
        lambda: wiring.check is None or len(wiring.check.results) > done, timeout=LONG_MS
    )
    assert companion.history.take(take.take_id).from_memory
    undo = companion.window.actions_by_id["undo"]
    assert undo.text().endswith("Take played from memory")
