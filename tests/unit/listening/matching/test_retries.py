"""Where a player stops and begins anew: a slip belongs to the attempt in which it was made."""

from dataclasses import replace

import pytest

from companion.listening.matching.match import match_take
from companion.listening.notes import Beginning, Verdict
from tests.unit.listening.invented_music import played, written


def wrong_notes(match):
    return [
        (note.played, note.expected_pitch) for note in match.notes if note.verdict is Verdict.WRONG
    ]


def slipped(note, semitones=1):
    return replace(note, pitch=note.pitch + semitones)


def beginnings(match):
    return [passage.began_with for passage in match.passages]


@pytest.mark.parametrize("wait", [2.0, 3.0])
def test_a_slip_that_is_tried_again_in_place_is_wrong_in_the_first_attempt(wait):
    score = written()
    first = played(score, to_quarters=10)
    first[-1] = slipped(first[-1])
    second = played(score, from_quarters=9.5, to_quarters=16, start=first[-1].onset_seconds + wait)
    match = match_take(score, [*first, *second])
    assert wrong_notes(match) == [(len(first) - 1, first[-1].pitch - 1)]
    assert not match.missed
    assert beginnings(match) == [Beginning.START, Beginning.RESTART]
    assert match.passages[1].first_played == len(first)


def test_a_chord_that_is_struck_again_after_a_stop_begins_a_passage():
    score = written()
    first = played(score, to_quarters=8.5)  # ends with both hands together
    second = played(score, from_quarters=8, to_quarters=16, start=first[-1].onset_seconds + 2)
    match = match_take(score, [*first, *second])
    assert {note.verdict for note in match.notes} == {Verdict.RIGHT}
    assert not match.missed
    assert match.passages[1].first_played == len(first)


def test_a_second_attempt_may_slip_again():
    score = written()
    first = played(score, to_quarters=8.5)
    first[-1] = slipped(first[-1])
    second = played(score, from_quarters=8, to_quarters=16, start=first[-1].onset_seconds + 1)
    second[0] = slipped(second[0], -1)
    match = match_take(score, [*first, *second])
    assert [at for at, _ in wrong_notes(match)] == [len(first) - 1, len(first)]
    assert not match.missed
    assert len(match.passages) == 2


@pytest.mark.parametrize(
    ("left", "entered"), [(9, 5.5), (9, 20), (20, 3.5)], ids=["back", "ahead", "far back"]
)
def test_a_passage_may_begin_with_a_wrong_key(left, entered):
    score = written()
    first = played(score, to_quarters=left)
    second = played(
        score,
        from_quarters=entered,
        to_quarters=entered + 8,
        start=first[-1].onset_seconds + 2,
    )
    meant = second[0].pitch
    match = match_take(score, [*first, slipped(second[0], -2), *second[1:]])
    assert wrong_notes(match) == [(len(first), meant)]
    assert not match.missed
    assert match.passages[1].first_played == len(first)
    assert match.passages[1].from_quarters == entered


def test_a_key_struck_twice_in_passing_begins_no_passage():
    score = written()
    take = played(score)
    again = replace(take[30], onset_seconds=take[30].onset_seconds + 0.2)
    match = match_take(score, sorted([*take, again], key=lambda note: note.onset_seconds))
    assert len(match.passages) == 1
    assert sum(note.verdict is Verdict.ADDED for note in match.notes) == 1


def test_a_brushed_neighbour_before_the_meant_key_begins_no_passage():
    score = written()
    take = played(score)
    at = next(i for i, note in enumerate(score) if note.onset_quarters == 9.5)
    brushed = replace(
        take[at],
        onset_seconds=take[at].onset_seconds - 0.06,
        pitch=take[at].pitch + 1,
        velocity=30,
    )
    match = match_take(score, sorted([*take, brushed], key=lambda note: note.onset_seconds))
    assert len(match.passages) == 1
    assert [n.played for n in match.notes if n.verdict is not Verdict.RIGHT] == [at]
    assert not match.missed
