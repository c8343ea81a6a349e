from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from companion.listening.notes import HeardNote, ScoreNote
from companion.listening.recognition.piece_index import build_index
from companion.listening.recognition.recognise import Recogniser
from companion.listening.recognition.whole_takes import recognise_take, stretches_of_take
from tests.unit.listening.invented_pieces import invented_piece, play


def another_edition(
    notes: list[ScoreNote], seed: int = 1, changed: float = 0.02
) -> list[ScoreNote]:
    """The same music with other readings of some notes, other ids and other voices."""
    rng = Random(seed)
    edition = [replace(n, note_id=f"e{n.note_id}", voice=n.voice + 1) for n in notes]
    for k, note in enumerate(edition):
        if rng.random() < changed:
            edition[k] = replace(note, pitch=note.pitch + rng.choice((-1, 1, 12)))
    return edition


@pytest.fixture(scope="module")
def shelf():
    return build_index(
        {
            "first edition": invented_piece(1),
            "second edition": another_edition(invented_piece(1), changed=0.005),
            "another piece": invented_piece(2),
        }
    )


def test_a_piece_in_two_editions_is_recognised_and_the_other_edition_told(shelf):
    guess = recognise_take(shelf, play(invented_piece(1), from_quarters=20, count=30))
    assert guess.piece_key == "first edition"
    assert guess.same_music == ("second edition",)


def test_of_two_editions_the_one_on_the_stand_is_meant(shelf):
    heard = play(invented_piece(1), from_quarters=20, count=30)
    assert recognise_take(shelf, heard, at_hand="second edition").piece_key == "second edition"
    stretches = stretches_of_take(shelf, heard, at_hand="second edition")
    assert {s.piece_key for s in stretches} <= {None, "second edition"}


def test_the_edition_on_the_stand_gives_way_where_the_playing_is_another_edition():
    one = invented_piece(3)
    other = another_edition(one, changed=0.06)
    index = build_index({"one": one, "other": other, "third": invented_piece(4)})
    guess = recognise_take(index, play(other, count=200), at_hand="one")
    assert guess.piece_key == "other"


def test_the_place_is_told_in_the_edition_that_is_named():
    one = invented_piece(5)
    later = [replace(n, onset_quarters=n.onset_quarters + 8) for n in one]  # a longer upbeat
    index = build_index({"one": one, "later": later})
    heard = play(one, from_quarters=40, count=30)
    first = recognise_take(index, heard, at_hand="one").onset_quarters
    assert recognise_take(index, heard, at_hand="later").onset_quarters == first + 8


def test_an_edition_on_the_stand_is_no_reason_to_name_it_when_another_piece_is_played(shelf):
    guess = recognise_take(shelf, play(invented_piece(2), count=30), at_hand="second edition")
    assert guess.piece_key == "another piece"
    assert guess.same_music == ()


def test_different_pieces_and_a_transposed_copy_are_not_the_same_music():
    notes = invented_piece(6)
    up = [replace(n, pitch=n.pitch + 2) for n in notes]
    index = build_index({"as written": notes, "a tone up": up, "other": invented_piece(7)})
    assert len(set(index.arrays.music.tolist())) == 3
    for key, played in (("as written", notes), ("a tone up", up)):
        guess = recognise_take(index, play(played, from_quarters=30, count=30))
        assert guess.piece_key == key
        assert guess.same_music == ()


def test_a_movement_and_the_whole_work_are_the_same_music():
    first, second = invented_piece(8), invented_piece(9)
    length = max(n.onset_quarters for n in first) + 4
    whole = first + [
        replace(n, onset_quarters=n.onset_quarters + length, note_id=f"w{n.note_id}")
        for n in second
    ]
    index = build_index({"movement": first, "whole": whole, "other": invented_piece(10)})
    assert index.arrays.music.tolist() == [0, 0, 2]
    assert recognise_take(index, play(second, count=40)).piece_key == "whole"


def test_a_piece_at_hand_that_is_not_on_the_shelf_does_no_harm(shelf):
    heard = play(invented_piece(2), count=30)
    assert recognise_take(shelf, heard, at_hand="gone") == recognise_take(shelf, heard)
    assert Recogniser(build_index({}), "gone").hear(HeardNote(0.0, 0.1, 60)) is None
