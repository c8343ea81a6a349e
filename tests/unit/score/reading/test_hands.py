from __future__ import annotations

from companion.score.model import Hand
from companion.score.reading.hands import assign_hands
from tests.unit.score.musicxml_text import backup, measure, note, read_measures


def two_hands(tmp_path):
    return read_measures(
        tmp_path,
        measure(
            note("C5", 2, tie="start"),
            note("C5", 2, tie="stop"),
            backup(4),
            note("C3", 4, staff=2, voice=5),
        ),
    )


def test_the_pianist_can_give_a_note_to_the_other_hand(tmp_path):
    score = two_hands(tmp_path)
    changed = assign_hands(score, {"n3": Hand.RIGHT})
    assert {note.note_id: note.hand for note in changed.notes} == {
        "n1": Hand.RIGHT,
        "n3": Hand.RIGHT,
    }
    assert {note.note_id: note.hand for note in score.notes}["n3"] is Hand.LEFT


def test_choosing_the_hand_of_a_tied_notehead_moves_the_whole_note(tmp_path):
    changed = assign_hands(two_hands(tmp_path), {"n2": Hand.LEFT})
    assert {note.hand for note in changed.notes} == {Hand.LEFT}


def test_choices_for_notes_that_are_gone_are_left_out(tmp_path):
    score = two_hands(tmp_path)
    assert assign_hands(score, {"n77": Hand.LEFT}) == score
    assert assign_hands(score, {}) is score


def test_a_middle_staff_is_shared_by_register(tmp_path):
    score = read_measures(
        tmp_path,
        measure(
            note("C5", 4),
            backup(4),
            note("E4", 2, staff=2, voice=3),
            note("E3", 2, staff=2, voice=3),
            backup(4),
            note("C2", 4, staff=3, voice=5),
        ),
    )
    assert {note.pitch: note.hand for note in score.notes} == {
        72: Hand.RIGHT,
        64: Hand.RIGHT,
        52: Hand.LEFT,
        36: Hand.LEFT,
    }


def test_a_melody_on_one_staff_is_for_the_right_hand(tmp_path):
    score = read_measures(tmp_path, measure(note("G3", 2), note("C5", 2)))
    assert {note.hand for note in score.notes} == {Hand.RIGHT}


def test_where_a_voice_takes_turns_between_the_staves_the_staves_decide(tmp_path):
    turns = [note(name, staff=staff) for name, staff in (("C3", 2), ("C5", 1)) * 2]
    score = read_measures(tmp_path, measure(*turns), measure(*turns))
    assert {note.pitch: note.hand for note in score.notes} == {48: Hand.LEFT, 72: Hand.RIGHT}
