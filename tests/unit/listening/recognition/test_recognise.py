from __future__ import annotations

import pickle
from dataclasses import replace
from functools import cache
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.listening.notes import Hands, HeardNote, ScoreNote
from companion.listening.recognition.piece_index import ShelfIndex, build_index, index_piece
from companion.listening.recognition.recognise import PieceGuess, Recogniser
from companion.listening.recognition.whole_takes import recognise_take, stretches_of_take
from companion.score.model import Hand
from tests.unit.listening.invented_pieces import SCALE, invented_piece, play

PIECES = 12
NOTES = 32

places = st.integers(min_value=0, max_value=140)
pieces = st.integers(min_value=0, max_value=PIECES - 1)


@cache
def piece(number: int) -> list[ScoreNote]:
    return invented_piece(number)


@cache
def shelf() -> ShelfIndex:
    return build_index({f"piece {number}": piece(number) for number in range(PIECES)})


def guesses(index: ShelfIndex, heard: list[HeardNote]) -> list[PieceGuess | None]:
    recogniser = Recogniser(index)
    return [recogniser.hear(note) for note in heard]


def names(index: ShelfIndex, heard: list[HeardNote]) -> list[str | None]:
    return [guess and guess.piece_key for guess in guesses(index, heard)]


@settings(deadline=None, derandomize=True, max_examples=40)
@given(number=pieces, place=places)
def test_a_clean_excerpt_from_anywhere_is_recognised_and_placed(number, place):
    heard = play(piece(number), from_quarters=place, count=NOTES)
    last = guesses(shelf(), heard)[-1]
    assert last is not None
    assert last.piece_key == f"piece {number}"
    expected = place + heard[-1].onset_seconds / 0.6
    assert last.onset_quarters == pytest.approx(expected, abs=1e-3)
    assert last.notes_heard == len(heard)
    assert last.hands is Hands.BOTH


@settings(deadline=None, derandomize=True, max_examples=40)
@given(number=pieces, place=places, hand=st.sampled_from(Hand))
def test_one_hand_alone_is_recognised_as_that_hand(number, place, hand):
    heard = play(piece(number), from_quarters=place, count=NOTES, hand=hand)
    last = guesses(shelf(), heard)[-1]
    assert last is not None
    assert last.piece_key == f"piece {number}"
    assert last.hands.value == hand.value


def test_playing_with_mistakes_is_recognised_and_hardly_ever_taken_for_another_piece():
    right = wrong = ends_right = 0
    for seed in range(48):
        rng = Random(seed)
        number, place = rng.randrange(PIECES), rng.randrange(120)
        heard = play(piece(number), from_quarters=place, count=60, chord_order=rng, mistakes=rng)
        found = names(shelf(), heard)
        right += sum(name == f"piece {number}" for name in found)
        wrong += sum(name not in (None, f"piece {number}") for name in found)
        ends_right += found[-1] == f"piece {number}"
    assert right >= 0.75 * 48 * 60
    assert wrong <= 0.005 * 48 * 60
    assert ends_right >= 46


@settings(deadline=None, derandomize=True, max_examples=30)
@given(
    number=pieces,
    place=places,
    later=st.floats(0, 5000),
    slower=st.floats(0.75, 1.6),
)
def test_neither_the_moment_nor_the_tempo_changes_what_is_recognised(number, place, later, slower):
    heard = play(piece(number), from_quarters=place, count=NOTES)
    moved = [replace(note, onset_seconds=later + slower * note.onset_seconds) for note in heard]
    one, other = guesses(shelf(), heard)[-1], guesses(shelf(), moved)[-1]
    assert one is not None
    assert other is not None
    assert (one.piece_key, one.onset_quarters, one.hands) == (
        other.piece_key,
        other.onset_quarters,
        other.hands,
    )


@settings(deadline=None, derandomize=True, max_examples=30)
@given(number=pieces, place=places, seed=st.integers(0, 1000))
def test_the_keys_of_a_chord_may_come_in_any_order(number, place, seed):
    heard = play(piece(number), from_quarters=place, count=NOTES, chord_order=Random(seed))
    assert names(shelf(), heard)[-1] == f"piece {number}"


@settings(deadline=None, derandomize=True, max_examples=20)
@given(number=pieces, place=places, semitones=st.sampled_from((-5, -1, 1, 4)))
def test_transposed_playing_is_not_taken_for_the_piece(number, place, semitones):
    heard = play(piece(number), from_quarters=place, count=NOTES)
    moved = [replace(note, pitch=note.pitch + semitones) for note in heard]
    assert names(shelf(), moved)[-1] != f"piece {number}"


def test_music_that_is_not_on_the_shelf_is_hardly_ever_taken_for_a_piece_of_it():
    named = notes = 0
    for unknown in range(100, 140):
        heard = play(invented_piece(unknown), from_quarters=3 * (unknown - 100), count=NOTES)
        found = guesses(shelf(), heard)
        named += found[-1] is not None
        notes += sum(guess is not None for guess in found)
    assert named <= 2
    assert notes <= 0.04 * 40 * NOTES


@settings(deadline=None, derandomize=True, max_examples=15)
@given(number=pieces, place=places)
def test_unrelated_pieces_do_not_change_a_confident_guess(number, place):
    heard = play(piece(number), from_quarters=place, count=NOTES)
    few = ShelfIndex({f"piece {number}": shelf().pieces[f"piece {number}"]})
    one, other = guesses(few, heard)[-1], guesses(shelf(), heard)[-1]
    assert one is not None
    assert other is not None
    assert one.piece_key == other.piece_key
    assert one.onset_quarters == other.onset_quarters


@pytest.mark.parametrize("root", [48, 50, 53, 57, 61])
@pytest.mark.parametrize(
    "steps",
    [
        pytest.param(SCALE, id="major scale"),
        pytest.param((0, 2, 3, 5, 7, 8, 11), id="minor scale"),
        pytest.param((0, 4, 7), id="broken triad"),
        pytest.param(tuple(range(12)), id="chromatic scale"),
    ],
)
def test_scales_and_broken_chords_are_no_piece(root, steps):
    up = [root + 12 * octave + step for octave in range(3) for step in steps]
    keys = [*up, root + 36, *reversed(up)]
    heard = [HeardNote(0.15 * k, 0.1, key, 64) for k, key in enumerate(keys)]
    assert set(names(shelf(), heard)) == {None}


def test_music_that_stands_in_two_pieces_is_named_when_they_part():
    same = piece(1)
    other = [n if n.onset_quarters < 80 else replace(n, pitch=n.pitch + 1) for n in same]
    index = build_index({"one": same, "other": other, "third": piece(2)})
    heard = play(other, from_quarters=60, count=140)
    parted = next(k for k, note in enumerate(heard) if note.onset_seconds >= 20 * 0.6)
    found = names(index, heard)
    assert set(found[:parted]) == {None}
    assert found[parted + 10] == "other"
    assert "one" not in found


def test_the_piece_stays_known_over_restarts_and_jumps():
    rng = Random(3)
    heard: list[HeardNote] = []
    for place in (40, 36, 44, 120, 8):
        start = heard[-1].onset_seconds + 1.5 if heard else 0.0
        heard += play(piece(4), from_quarters=place, count=24, start_seconds=start, mistakes=rng)
    found = guesses(shelf(), heard)
    named = [guess.piece_key for guess in found if guess is not None]
    assert set(named) == {"piece 4"}
    assert len(named) > 0.75 * len(heard)
    assert found[-1] is not None
    assert 8 <= found[-1].onset_quarters < 24


def test_a_second_piece_in_a_take_is_recognised_after_the_first():
    first = play(piece(5), from_quarters=16, count=60)
    second = play(piece(6), from_quarters=32, count=60, start_seconds=first[-1].onset_seconds + 2.0)
    found = names(shelf(), first + second)
    assert found[59] == "piece 5"
    assert found[-1] == "piece 6"
    stretches = stretches_of_take(shelf(), first + second)
    assert [s.piece_key for s in stretches if s.piece_key] == ["piece 5", "piece 6"]


def test_stretches_cover_a_take_without_gap_or_overlap():
    scale = [HeardNote(0.2 * k, 0.1, 60 + k, 64) for k in range(24)]
    tune = play(piece(7), count=40, start_seconds=8.0)
    stretches = stretches_of_take(shelf(), scale + tune)
    assert stretches[0].first_played == 0
    assert stretches[-1].last_played == len(scale) + len(tune) - 1
    assert all(b.first_played == a.last_played + 1 for a, b in pairwise(stretches))
    assert sum(s.note_count for s in stretches) == len(scale) + len(tune)
    assert recognise_take(shelf(), scale + tune).piece_key == "piece 7"


def test_forgetting_begins_anew():
    recogniser = Recogniser(shelf())
    heard = play(piece(8), count=NOTES)
    once = [recogniser.hear(note) for note in heard]
    recogniser.forget()
    assert [recogniser.hear(note) for note in heard] == once


def test_trills_and_graces_do_not_lose_the_piece():
    notes = piece(9)
    k = next(k for k, n in enumerate(notes) if n.staff == 1 and n.onset_quarters >= 20)
    adorned = [replace(n, ornament="trill") if m == k else n for m, n in enumerate(notes)]
    index = shelf().with_piece("piece 9", index_piece(adorned))
    heard = play(notes, from_quarters=12, count=80)
    at = (float(notes[k].onset_quarters) - 12) * 0.6
    trill = [HeardNote(at + 0.05 * j, 0.05, notes[k].pitch + 2 * (j % 2), 60) for j in range(1, 12)]
    found = names(index, sorted(heard + trill, key=lambda n: n.onset_seconds))
    assert found[-1] == "piece 9"
    first = found.index("piece 9")
    assert None not in found[first:]


def test_pieces_come_and_go_one_by_one():
    heard = play(piece(3), from_quarters=40, count=NOTES)
    empty = ShelfIndex()
    assert recognise_take(empty, heard) is None
    with_it = empty.with_piece("a", index_piece(piece(3))).with_piece("b", index_piece(piece(2)))
    assert recognise_take(with_it, heard).piece_key == "a"
    assert len(with_it) == 2
    assert "a" in with_it
    without = with_it.without("a")
    assert recognise_take(without, heard) is None
    assert recognise_take(with_it, heard).piece_key == "a"  # the other value did not change


def test_an_index_can_be_kept_and_is_small():
    heard = play(piece(3), count=NOTES)
    index = shelf()
    recognise_take(index, heard)  # lays out the arrays, which are not kept
    kept = pickle.dumps(index)
    assert len(kept) < 60 * sum(len(piece(number)) for number in range(PIECES))
    assert recognise_take(pickle.loads(kept), heard) == recognise_take(index, heard)


def test_hidden_and_cue_notes_need_not_be_played():
    notes = piece(10)
    extra = [
        replace(n, note_id=f"x{k}", pitch=n.pitch + 12, expected=False)
        for k, n in enumerate(notes)
        if n.staff == 1
    ]
    index = shelf().with_piece("piece 10", index_piece([*notes, *extra]))
    assert names(index, play(notes, count=NOTES))[-1] == "piece 10"


def test_a_piece_without_notes_is_never_named_and_harms_none():
    index = shelf().with_piece("silence", index_piece([]))
    assert names(index, play(piece(3), count=NOTES))[-1] == "piece 3"
    assert recognise_take(ShelfIndex({"silence": index_piece([])}), play(piece(3))) is None
