"""The matcher on small invented takes: every verdict, passes, hands, and awkward input."""

from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest

from companion.listening.matching.match import HeardNote, match_take
from companion.listening.notes import Beginning, Hands, Verdict
from tests.unit.listening.invented_music import a_note, played, written


def counts(match):
    found = Counter(note.verdict.value for note in match.notes)
    return {
        **{verdict.value: found[verdict.value] for verdict in Verdict},
        "missed": len(match.missed),
    }


ALL_RIGHT = {"right": 0, "wrong": 0, "added": 0, "ornament": 0, "missed": 0}


def test_exact_performance_is_all_right():
    score = written()
    match = match_take(score, played(score))
    assert counts(match) == {**ALL_RIGHT, "right": len(score)}
    assert [note.score_index for note in match.notes] == list(range(len(score)))
    assert len(match.passages) == 1
    assert match.passages[0].began_with is Beginning.START
    assert match.passages[0].hands is Hands.BOTH


def test_no_notes_give_an_empty_match():
    match = match_take(written(), [])
    assert (match.notes, match.missed, match.passages) == ((), (), ())


def test_without_a_score_every_note_is_added():
    match = match_take([], [HeardNote(0.0, 0.1, 60), HeardNote(0.5, 0.1, 62)])
    assert counts(match) == {**ALL_RIGHT, "added": 2}


def test_five_notes_in_the_middle_are_found():
    score = written()
    take = played(score, from_quarters=17, to_quarters=19)
    match = match_take(score, take[:5])
    assert counts(match)["right"] == 5
    assert match.passages[0].from_quarters == 17


def test_left_out_note_is_missed_once_and_before_the_next_one():
    score = written()
    take = played(score)
    del take[20]
    match = match_take(score, take)
    assert counts(match) == {**ALL_RIGHT, "right": len(score) - 1, "missed": 1}
    assert match.missed[0].score_index == 20
    assert match.missed[0].before_played in {20, 21}


def test_wrong_key_tells_which_note_was_meant():
    score = written()
    take = played(score)
    slip = take[25]
    take[25] = HeardNote(slip.onset_seconds, slip.duration_seconds, slip.pitch + 1, 70)
    match = match_take(score, take)
    assert counts(match) == {**ALL_RIGHT, "right": len(score) - 1, "wrong": 1}
    wrong = next(note for note in match.notes if note.verdict is Verdict.WRONG)
    assert wrong.expected_pitch == slip.pitch


def test_brushed_key_is_added():
    score = written()
    take = played(score)
    take.insert(31, HeardNote(take[30].onset_seconds + 0.01, 0.05, take[30].pitch + 1, 25))
    match = match_take(score, take)
    assert counts(match) == {**ALL_RIGHT, "right": len(score), "added": 1}


@pytest.mark.parametrize(("staff", "hands"), [(1, Hands.RIGHT), (2, Hands.LEFT)])
def test_silent_hand_is_not_missed(staff, hands):
    score = written()
    take = played(score, staff=staff)
    match = match_take(score, take)
    assert counts(match) == {**ALL_RIGHT, "right": len(take)}
    assert {passage.hands for passage in match.passages} == {hands}


def test_going_back_begins_a_new_pass():
    score = written()
    first = played(score, from_quarters=8, to_quarters=16)
    second = played(score, from_quarters=12, to_quarters=20, start=first[-1].onset_seconds + 2)
    match = match_take(score, [*first, *second])
    assert counts(match) == {**ALL_RIGHT, "right": len(first) + len(second)}
    assert [passage.began_with for passage in match.passages] == [
        Beginning.START,
        Beginning.RESTART,
    ]
    assert match.passages[1].first_played == len(first)


def test_leaping_ahead_misses_nothing():
    score = written()
    first = played(score, to_quarters=6)
    second = played(score, from_quarters=20, start=first[-1].onset_seconds + 1.5)
    match = match_take(score, [*first, *second])
    assert counts(match) == {**ALL_RIGHT, "right": len(first) + len(second)}
    assert match.passages[1].began_with is Beginning.JUMP


def test_unisons_of_two_voices_are_one_key():
    score = written()
    doubled = [*score, a_note(999, score[4].onset_quarters, Fraction(2), score[4].pitch, 1)]
    match = match_take(doubled, played(score))
    assert counts(match) == {**ALL_RIGHT, "right": len(score)}


def test_hidden_notes_are_never_missed():
    score = written()
    hidden = [replace(note, expected=index != 40) for index, note in enumerate(score)]
    take = played(score)
    assert counts(match_take(hidden, take))["right"] == len(score)
    del take[40]
    assert counts(match_take(hidden, take)) == {**ALL_RIGHT, "right": len(score) - 1}


def test_onsets_may_be_floats_and_flags_numbers():
    score = [
        replace(
            note,
            onset_quarters=float(note.onset_quarters),
            measure_offset_quarters=float(note.measure_offset_quarters),
            grace=0,
            ornament=0,
        )
        for note in written()
    ]
    match = match_take(score, played(score))
    assert counts(match)["right"] == len(score)
    assert all(isinstance(note.offset_quarters, Fraction) for note in match.notes)


def test_notes_of_a_trill_are_one_ornament():
    score = written()
    trilled = [
        replace(note, ornament="trill") if index == 30 else note for index, note in enumerate(score)
    ]
    main = score[30]
    take = played(score)
    at = take[30].onset_seconds
    trill = [
        HeardNote(at + 0.06 * step, 0.05, main.pitch + 2 * (step % 2), 70) for step in range(1, 5)
    ]
    match = match_take(trilled, sorted([*take, *trill], key=lambda note: note.onset_seconds))
    assert counts(match) == {**ALL_RIGHT, "right": len(score), "ornament": len(trill)}
    adorned = {note.score_index for note in match.notes if note.verdict is Verdict.ORNAMENT}
    assert adorned == {30}


def test_twenty_thousand_notes_are_matched():
    score = written(40)
    once = played(score)
    length = once[-1].onset_seconds + 3.0
    rounds = 20_000 // len(once)
    take = [
        replace(note, onset_seconds=note.onset_seconds + length * number)
        for number in range(rounds)
        for note in once
    ]
    match = match_take(score, take)
    assert counts(match) == {**ALL_RIGHT, "right": len(take)}
    assert len(match.passages) == rounds


def test_playing_in_another_key_is_no_match():
    score = written()
    take = [replace(note, pitch=note.pitch + 6) for note in played(score)]
    assert counts(match_take(score, take))["right"] < len(take) / 2


def test_chords_may_be_spread():
    score = written()
    take = [
        replace(note, onset_seconds=note.onset_seconds + 0.15 * (score[index].staff == 1))
        for index, note in enumerate(played(score))
    ]
    take.sort(key=lambda note: note.onset_seconds)
    assert counts(match_take(score, take))["right"] == len(score)
