"""What must hold for any score and any take (hypothesis)."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.listening.matching.match import HeardNote, ScoreNote, match_take
from companion.listening.notes import Verdict

SLOW = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@st.composite
def scores(draw, fewest=6, most=40):
    """Two hands, any rhythm, any keys, no key written twice at one onset."""
    notes: list[ScoreNote] = []
    onset = Fraction(0)
    for _ in range(draw(st.integers(fewest, most))):
        right = draw(st.sets(st.integers(60, 96), min_size=1, max_size=3))
        left = draw(st.sets(st.integers(30, 58), max_size=3))
        for pitch, staff in sorted([(p, 2) for p in left] + [(p, 1) for p in right]):
            measure = int(onset // 4)
            notes.append(
                ScoreNote(
                    f"n{len(notes)}", onset, Fraction(1, 2), pitch, staff, 1, measure,
                    onset - 4 * measure,
                )
            )  # fmt: skip
        onset += draw(st.sampled_from([Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(2)]))
    return notes


def exactly(notes, quarter=0.5):
    return [HeardNote(float(n.onset_quarters) * quarter, 0.2, n.pitch, 64) for n in notes]


@st.composite
def takes(draw, notes):
    """A performance with any slips, omissions, additions and returns."""
    take: list[HeardNote] = []
    clock = 0.0
    for _ in range(draw(st.integers(1, 3))):
        first = draw(st.integers(0, len(notes) - 1))
        last = draw(st.integers(first, len(notes)))
        start = float(notes[first].onset_quarters)
        for note in notes[first:last]:
            at = clock + (float(note.onset_quarters) - start) * 0.5
            kind = draw(st.sampled_from(["right"] * 8 + ["wrong", "missed", "added"]))
            if kind != "missed":
                pitch = note.pitch + (draw(st.sampled_from([-2, -1, 1, 2])) * (kind == "wrong"))
                take.append(HeardNote(at, 0.2, pitch, 64))
            if kind == "added":
                take.append(HeardNote(at + 0.01, 0.05, draw(st.integers(21, 108)), 30))
        clock = (take[-1].onset_seconds if take else 0.0) + draw(st.floats(0.3, 4.0))
    return take


def said(match):
    return (
        [(n.played, n.verdict, n.score_index, n.passage) for n in match.notes],
        [(m.score_index, m.passage, m.before_played) for m in match.missed],
        [(p.first_played, p.last_played, p.hands, p.began_with) for p in match.passages],
    )


@SLOW
@given(scores())
def test_an_exact_performance_of_any_score_is_all_right(notes):
    match = match_take(notes, exactly(notes))
    assert {note.verdict for note in match.notes} == {Verdict.RIGHT}
    assert not match.missed


@SLOW
@given(scores(fewest=10), st.data())
def test_taking_one_inner_note_away_gives_exactly_one_missed(notes, data):
    inside = [
        index
        for index, note in enumerate(notes)
        if notes[0].onset_quarters < note.onset_quarters < notes[-1].onset_quarters
    ]
    # A note that a neighbour with the same key could stand for is not the only reading.
    lonely = [
        index
        for index in inside
        if not any(
            other.pitch == notes[index].pitch
            and 0 < abs(other.onset_quarters - notes[index].onset_quarters) <= 2
            for other in notes
        )
    ]
    if not lonely:
        return
    gone = data.draw(st.sampled_from(lonely))
    hands = {note.staff for note in notes if note is not notes[gone]}
    if len(hands) < len({note.staff for note in notes}):
        return  # the other hand would be silent, and a silent hand misses nothing
    take = exactly([note for index, note in enumerate(notes) if index != gone])
    match = match_take(notes, take)
    assert [note.score_index for note in match.missed] == [gone]
    assert {note.verdict for note in match.notes} == {Verdict.RIGHT}


@SLOW
@given(st.data())
def test_every_played_and_every_expected_note_is_counted_once(data):
    notes = data.draw(scores())
    take = data.draw(takes(notes))
    match = match_take(notes, take)
    verdicts = Counter(note.verdict for note in match.notes)
    assert sum(verdicts.values()) == len(take)
    assert [note.played for note in match.notes] == list(range(len(take)))
    for passage in match.passages:
        stood_for = [
            note.score_index
            for note in match.notes
            if note.passage == passage.index and note.verdict in (Verdict.RIGHT, Verdict.WRONG)
        ]
        missed = [note.score_index for note in match.missed if note.passage == passage.index]
        assert len(set(stood_for)) == len(stood_for)
        assert len(set(missed)) == len(missed)
        assert not set(stood_for) & set(missed)
        staves = {"both": {1, 2}, "right": {1}, "left": {2}}[passage.hands.value]
        expected = {
            index
            for index, note in enumerate(notes)
            if passage.from_quarters <= note.onset_quarters <= passage.to_quarters
            and note.staff in staves
        }
        assert expected == set(stood_for) | set(missed)


@SLOW
@given(st.data(), st.floats(-5.0, 1000.0))
def test_a_take_may_begin_at_any_time(data, shift):
    notes = data.draw(scores(most=20))
    take = data.draw(takes(notes))
    later = [replace(note, onset_seconds=round(note.onset_seconds + shift, 6)) for note in take]
    rounded = [replace(note, onset_seconds=note.onset_seconds - shift) for note in later]
    assert said(match_take(notes, rounded)) == said(match_take(notes, later))


@SLOW
@given(scores(), st.floats(0.35, 1.6))
def test_an_exact_performance_may_have_any_tempo(notes, quarter):
    assert said(match_take(notes, exactly(notes, quarter))) == said(
        match_take(notes, exactly(notes))
    )


@SLOW
@given(st.data())
def test_names_of_notes_do_not_matter(data):
    notes = data.draw(scores(most=20))
    take = data.draw(takes(notes))
    renamed = [replace(note, note_id=f"x{index * 7}") for index, note in enumerate(notes)]
    assert said(match_take(notes, take)) == said(match_take(renamed, take))


@SLOW
@given(scores(), st.integers(0, 30), st.floats(0.5, 20.0))
def test_silence_within_an_exact_performance_changes_no_verdict(notes, place, silence):
    onset = notes[min(place, len(notes) - 1)].onset_quarters
    take = [
        replace(heard, onset_seconds=heard.onset_seconds + silence * (note.onset_quarters >= onset))
        for heard, note in zip(exactly(notes), notes, strict=True)
    ]
    match = match_take(notes, take)
    assert {note.verdict for note in match.notes} == {Verdict.RIGHT}


@SLOW
@given(st.data())
def test_a_transposed_score_and_take_are_judged_alike(data):
    notes = data.draw(scores(most=20))
    take = data.draw(takes(notes))
    up = data.draw(st.integers(-8, 8))
    moved = [replace(note, pitch=note.pitch + up) for note in notes]
    played = [replace(note, pitch=note.pitch + up) for note in take]
    assert said(match_take(notes, take)) == said(match_take(moved, played))
