"""Takes are filed with the piece that was played, by themselves and by hand; parts are chosen."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from PySide6.QtWidgets import QFileDialog

from companion.desktop.choice_dialog import Choice, ChoiceDialog
from companion.history.model import Piece, RawEvent, Take, TakeSource
from companion.resources import sample_scores_folder
from companion.score.reading.parts import PartChoice

LONG_MS = 120_000  # for worker processes on a busy machine; never waited for where all is well


def take_of(take_id, notes, piece_id):
    """A take that plays notes as they are written, a quarter in half a second."""
    events = []
    for note in notes:
        at = float(note.onset_quarters) * 0.5
        events.append(RawEvent(at, bytes((0x90, note.pitch, 70))))
        events.append(
            RawEvent(at + float(note.duration_quarters) * 0.45, bytes((0x80, note.pitch, 0)))
        )
    events.sort(key=lambda event: event.at_seconds)
    return Take(
        take_id=take_id,
        piece_id=piece_id,
        started_at=datetime(2026, 3, 1, 10, tzinfo=UTC),
        zone="UTC",
        source=TakeSource.SCREEN,
        duration_seconds=events[-1].at_seconds,
        note_count=len(notes),
        events=tuple(events),
    )


@pytest.fixture
def two_pieces(companion, qtbot):
    """The study lies on the stand, the footbridge is on the shelf too; ids of both."""
    other = companion.stand.piece.piece_id
    notes = companion.stand.score.notes
    companion.shelf.open_path(str(sample_scores_folder() / "study_in_d_minor.musicxml"))
    qtbot.waitUntil(
        lambda: companion.stand.piece.piece_id != other and not companion.opening.loading,
        timeout=LONG_MS,
    )
    companion.other_notes = notes[:120]
    return companion.stand.piece.piece_id, other


def test_take_of_another_piece_is_filed_there_and_said_so(companion, two_pieces, qtbot):
    here, other = two_pieces
    take = take_of("t1", companion.other_notes, here)
    companion.history.save_take(take)
    companion.filing.take_saved(take)
    qtbot.waitUntil(lambda: companion.history.take("t1").piece_id == other, timeout=LONG_MS)
    qtbot.waitUntil(lambda: "was filed there" in companion.window.messages.text)
    companion.window.actions_by_id["undo"].trigger()
    assert companion.history.take("t1").piece_id == here


def test_take_that_fits_nothing_waits_on_the_page_of_the_shelf(companion, two_pieces, qtbot):
    _, other = two_pieces
    unknown = [replace(n, pitch=108 - n.pitch % 24) for n in companion.other_notes[::3]]
    companion.history.save_take(take_of("t2", unknown, None))
    companion.filing.show_unfiled()
    unfiled = companion.window.pages.shelf.unfiled
    assert unfiled.count == 1
    assert not unfiled.isHidden()
    dialog = companion.filing.ask_for_piece(["t2"])
    assert len(dialog.texts) == len(companion.history.shelf()) + 1
    dialog.choose(other)
    assert companion.history.take("t2").piece_id == other
    assert unfiled.isHidden()
    companion.window.actions_by_id["undo"].trigger()
    assert unfiled.count == 1


def test_unfiled_take_is_deleted_and_brought_back(companion, qtbot):
    companion.history.save_take(take_of("t3", companion.stand.score.notes[:8], None))
    companion.filing.show_unfiled()
    unfiled = companion.window.pages.shelf.unfiled
    unfiled._delete()
    assert unfiled.count == 0
    companion.window.actions_by_id["undo"].trigger()
    assert unfiled.count == 1


def test_waiting_take_is_filed_when_its_piece_is_opened(companion, two_pieces, qtbot):
    _, other = two_pieces
    companion.history.save_take(take_of("t4", companion.other_notes, None))
    companion.filing._piece_laid()
    qtbot.waitUntil(lambda: companion.history.take("t4").piece_id == other, timeout=LONG_MS)


def test_the_pianist_is_asked_which_of_two_pieces_with_the_same_music_it_was(
    companion, two_pieces, qtbot
):
    _, other = two_pieces
    piece = companion.history.piece(other)
    copy = replace(piece, piece_id="copy", title="The Footbridge, second edition")
    companion.history.save_piece(copy)
    companion.history.save_take(take_of("t5", companion.other_notes, None))
    companion.filing._piece_laid()
    messages = companion.window.messages
    qtbot.waitUntil(lambda: "The same music stands in" in messages.text, timeout=LONG_MS)
    dialog = companion.filing.ask_for_piece(["t5"])
    assert [text.endswith("(the same music)") for text in dialog.texts[:3]] == [True, True, False]
    filed = companion.history.take("t5").piece_id
    dialog.choose("copy" if filed == other else other)
    assert {filed, companion.history.take("t5").piece_id} == {other, "copy"}


def test_parts_are_offered_with_their_notes(companion, monkeypatch):
    companion.shelf._parts = (
        PartChoice(part_id="P1", name="Violin", staves=1, note_count=120, looks_like_piano=False),
        PartChoice(part_id="P2", name="Piano", staves=2, note_count=640, looks_like_piano=True),
    )
    opened = []
    monkeypatch.setattr(companion.shelf, "open_path", lambda path, part: opened.append(part))
    dialog = companion.further.asking.ask_for_part()
    assert dialog.texts == ("Violin: 120 notes", "Piano: 640 notes")
    dialog.choose("P2")
    assert opened == ["P2"]


def test_choice_given_up_tells_nothing(qtbot):
    dialog = ChoiceDialog("Title", "Which?", [Choice(key="a", text="A")])
    qtbot.addWidget(dialog)
    with qtbot.assertNotEmitted(dialog.chosen):
        dialog.reject()


def test_takes_and_table_are_written_to_the_files_that_were_named(
    companion, tmp_path, monkeypatch, qtbot
):
    piece = companion.stand.piece
    companion.history.save_take(take_of("t5", companion.stand.score.notes[:8], piece.piece_id))
    take_file, table_file = tmp_path / "one.mid", tmp_path / "table.csv"
    names = iter([(str(take_file), ""), (str(table_file), "")])
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: next(names))
    companion.files._export_several(["t5"])
    assert take_file.read_bytes().startswith(b"MThd")
    companion.files._export_table()
    assert "section" in table_file.read_text().splitlines()[0].lower()
    assert "table.csv" in companion.window.messages.text


def test_several_takes_go_into_a_folder(companion, tmp_path, monkeypatch):
    piece_id = companion.stand.piece.piece_id
    for number in range(2):
        take = take_of(f"s{number}", companion.stand.score.notes[number : number + 8], piece_id)
        companion.history.save_take(take)
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(tmp_path))
    companion.files._export_several(["s0", "s1"])
    names = sorted(path.name for path in tmp_path.glob("*.mid"))
    assert len(names) == 2
    assert all(name.startswith("take ") for name in names)  # by when they were played


def test_score_is_opened_from_the_dialog_and_its_folder_remembered(companion, monkeypatch, qtbot):
    path = sample_scores_folder() / "study_in_d_minor.musicxml"
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(path), ""))
    companion.window.actions_by_id["open_score"].trigger()
    qtbot.waitUntil(lambda: companion.stand.score.title.startswith("Study"), timeout=LONG_MS)
    assert companion.view.settings.last_folder == str(path.parent)


def test_empty_shelf_says_what_to_do(companion):
    page = companion.window.pages.shelf
    page.show_pieces((), datetime(2026, 3, 1, tzinfo=UTC).date())
    assert not page._empty.isHidden()
    page.show_pieces(
        (Piece(piece_id="p", title="T", composer="", score_hash=""),),
        datetime(2026, 3, 1, tzinfo=UTC).date(),
    )
    assert page._empty.isHidden()
