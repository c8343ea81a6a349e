"""Notes are given to a hand in the score; the results follow, and undo brings all back."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from companion.score.model import Hand


def trigger(companion, name):
    companion.window.actions_by_id[name].trigger()


def hand_of(companion, note_id):
    return next(n.playing_hand for n in companion.stand.score.notes if n.note_id == note_id)


@pytest.fixture
def first_left(companion):
    return next(n for n in companion.stand.score.notes if n.playing_hand is Hand.LEFT)


def test_selected_note_is_given_to_the_other_hand_and_back(companion, first_left):
    piece_id, basis = companion.stand.piece.piece_id, companion.stand.open_piece.basis
    companion.score_view._selection.choose_note(first_left.note_id)
    trigger(companion, "right_hand")
    assert hand_of(companion, first_left.note_id) is Hand.RIGHT
    assert companion.history.hands(piece_id) == {first_left.note_id: Hand.RIGHT}
    assert companion.stand.open_piece.basis != basis
    trigger(companion, "undo")
    assert hand_of(companion, first_left.note_id) is Hand.LEFT
    assert companion.history.hands(piece_id) == {}
    assert companion.stand.open_piece.basis == basis


def test_hands_as_written_takes_the_choice_back(companion, first_left):
    companion.score_view._selection.choose_note(first_left.note_id)
    trigger(companion, "right_hand")
    trigger(companion, "printed_hands")
    assert hand_of(companion, first_left.note_id) is Hand.LEFT
    assert companion.history.hands(companion.stand.piece.piece_id) == {}


def test_hand_that_plays_a_note_anyway_is_no_choice(companion, first_left):
    companion.score_view._selection.choose_note(first_left.note_id)
    trigger(companion, "left_hand")
    assert companion.history.hands(companion.stand.piece.piece_id) == {}
    assert not companion.window.actions_by_id["undo"].isEnabled()


def test_without_a_selection_one_sentence_says_what_to_do(companion):
    trigger(companion, "left_hand")
    assert companion.window.messages.text.startswith("Select notes first")


def test_measures_are_selected_by_keyboard_staff_by_staff(companion, qtbot):
    view = companion.score_view
    notes = [n for n in companion.stand.score.notes if n.measure_index == 3]
    view.focus_measure(3)
    chosen = []
    for _ in range(3):
        qtbot.keyClick(view._canvas, Qt.Key.Key_Return)
        chosen.append(set(view.selected_notes))
    assert chosen[0] == {n.note_id for n in notes}
    assert chosen[1] == {n.note_id for n in notes if n.staff == 1}
    assert chosen[2] == {n.note_id for n in notes if n.staff == 2}
    qtbot.keyClick(view._canvas, Qt.Key.Key_Right)
    qtbot.keyClick(view._canvas, Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier)
    assert len(view.selected_notes) > len(chosen[2])
    qtbot.keyClick(view._canvas, Qt.Key.Key_Escape)
    assert view.selected_notes == ()


def test_stored_hands_are_there_when_the_piece_is_opened_again(companion, first_left, qtbot):
    companion.score_view._selection.choose_note(first_left.note_id)
    trigger(companion, "right_hand")
    with qtbot.waitSignal(companion.stand.piece_laid, timeout=120_000):
        companion.shelf.open_piece(companion.stand.piece.piece_id)
    assert hand_of(companion, first_left.note_id) is Hand.RIGHT
