"""Figures of the match against other implementations of them, and what must hold on real music.

Oracles: mir_eval's note F measure (Raffel et al. 2014), parangonar's F of alignments (Peter et al.
2023), and the truth of the practising player of the benchmarks, who knows nothing of the matcher.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.listening.comparison import compare
from companion.listening.matching.match import match_take
from companion.listening.notes import HeardNote, Verdict
from companion.resources import sample_scores_folder
from companion.score.model import Hand
from companion.score.reading.reader import read_score
from tests.benchmarks.practice_material import as_printed, read_piece
from tests.benchmarks.practice_player import HEAVY, LIGHT, MEDIUM
from tests.benchmarks.practice_takes import practise
from tests.unit.listening.playing import invented_score, map_of

mir_eval = pytest.importorskip("mir_eval")
parangonar = pytest.importorskip("parangonar")

SLOW = settings(max_examples=8, deadline=None, derandomize=True)
PIECE = "mozart/k545/movement1_exposition"

levels = st.sampled_from((LIGHT, MEDIUM, HEAVY))
plans = st.sampled_from(("through", "loop", "jumpy"))
seeds = st.integers(0, 10**6)


@cache
def real_score(name=PIECE):
    return read_score(sample) if (sample := _sample(name)) else read_piece(name)


def _sample(name):
    path = sample_scores_folder() / f"{name}.musicxml"
    return path if path.is_file() else None


def practice_take(level, plan, seed):
    return practise(as_printed(PIECE, real_score()), level, plan, random.Random(seed))


def heard_of(take):
    strokes = [stroke for one in take.passes for stroke in one.strokes]
    return [HeardNote(s.onset, s.lasts, s.pitch, s.velocity) for s in strokes], strokes


@SLOW
@given(levels, plans, seeds)
def test_parangonar_finds_the_same_f_measure_of_right_notes(level, plan, seed):
    take = practice_take(level, plan, seed)
    heard, strokes = heard_of(take)
    written = take.written.notes
    match = match_take(written, heard)
    said = {
        (written[n.score_index].note_id, n.played)
        for n in match.notes
        if n.verdict is Verdict.RIGHT
    }
    meant = {
        (written[s.written].note_id, k)
        for k, s in enumerate(strokes)
        if s.written >= 0 and not s.wrong
    }
    ours = 2 * len(said & meant) / (len(said) + len(meant))

    def as_alignment(pairs):
        return [
            {"label": "match", "score_id": note_id, "performance_id": str(played)}
            for note_id, played in pairs
        ]

    theirs = parangonar.fscore_alignments(as_alignment(said), as_alignment(meant), ["match"])[2]
    assert ours == pytest.approx(theirs, abs=1e-12)
    assert len(match.notes) == len(heard)


@settings(max_examples=6, deadline=None, derandomize=True)
@given(levels, plans, seeds)
def test_mir_eval_finds_the_same_precision_recall_and_accuracy_of_a_take(level, plan, seed):
    score = invented_score(8)
    written = replace(
        as_printed(PIECE, real_score()),
        notes=tuple(sorted(score.notes, key=lambda n: (n.onset_quarters, n.pitch))),
        onsets=tuple(sorted({float(n.onset_quarters) for n in score.notes})),
    )
    heard, _ = heard_of(practise(written, level, plan, random.Random(seed)))
    comparison = compare(score, map_of(score, 0, 4), heard)
    match, whole = comparison.match, comparison.measures.whole
    # Every written note of every passage has a moment of its own, every added note too.
    slots: dict[tuple[int, int], float] = {}
    expected, expected_pitch = [], []
    for passage in match.passages:
        for index, note in enumerate(score.notes):
            within = passage.from_quarters <= note.onset_quarters <= passage.to_quarters
            if within and passage.hands in ("both", note.playing_hand.value):
                slots[passage.index, index] = float(len(slots))
                expected.append(slots[passage.index, index])
                expected_pitch.append(note.pitch)
    struck, struck_pitch = [], []
    for note in match.notes:
        if note.verdict is Verdict.ORNAMENT:
            continue
        added = note.verdict is Verdict.ADDED
        at = 1e5 + note.played if added else slots[note.passage, note.score_index]
        struck.append(at)
        struck_pitch.append(note.pitch)

    def intervals(moments):
        return np.array([[at, at + 0.2] for at in moments]).reshape(-1, 2)

    def hertz(pitches):
        return np.array([440.0 * 2 ** ((p - 69) / 12) for p in pitches])

    precision, recall, f_measure, _ = mir_eval.transcription.precision_recall_f1_overlap(
        intervals(expected), hertz(expected_pitch), intervals(struck), hertz(struck_pitch),
        offset_ratio=None,
    )  # fmt: skip
    assert whole.precision == pytest.approx(precision, abs=1e-9)
    assert whole.recall == pytest.approx(recall, abs=1e-9)
    assert whole.accuracy == pytest.approx(f_measure, abs=1e-9)
    assert whole.expected == len(expected)


@SLOW
@given(levels, plans, seeds)
def test_in_practice_of_real_music_every_note_is_counted_once(level, plan, seed):
    take = practice_take(level, plan, seed)
    heard, _ = heard_of(take)
    written = take.written.notes
    match = match_take(written, heard)
    assert [note.played for note in match.notes] == list(range(len(heard)))
    for passage in match.passages:
        stood_for = Counter(
            n.score_index
            for n in match.notes
            if n.passage == passage.index and n.verdict in (Verdict.RIGHT, Verdict.WRONG)
        )
        missed = Counter(n.score_index for n in match.missed if n.passage == passage.index)
        expected = {
            index
            for index, note in enumerate(written)
            if passage.from_quarters <= note.onset_quarters <= passage.to_quarters
            and passage.hands in ("both", note.playing_hand.value)
        }
        assert set((stood_for + missed).values()) <= {1}
        assert set(stood_for) | set(missed) == expected


def mechanical(notes, quarter_seconds=0.5):
    """Each written key once, exactly in time."""
    keys = sorted({(float(n.onset_quarters), n.pitch) for n in notes})
    return [HeardNote(onset * quarter_seconds, 0.1, pitch, 64) for onset, pitch in keys]


PLAIN = (
    "bach/bwv846", "joplin/maple_leaf_rag", "mozart/k545/movement1_exposition",
    "schoenberg/opus19/movement2", "schumann_robert/opus48no2", "the_footbridge",
    "study_in_d_minor",
)  # fmt: skip


@pytest.mark.parametrize("name", PLAIN)
def test_a_mechanical_performance_of_real_music_is_all_right(name):
    notes = [note for note in real_score(name).notes if note.expected and not note.grace]
    match = match_take(notes, mechanical(notes))
    assert {note.verdict for note in match.notes} == {Verdict.RIGHT}
    assert not match.missed
    assert len(match.passages) == 1


@pytest.mark.parametrize("hand", list(Hand))
@pytest.mark.parametrize("name", PLAIN)
def test_one_hand_of_real_music_alone_is_all_right_and_the_other_is_not_missed(name, hand):
    notes = [note for note in real_score(name).notes if note.expected and not note.grace]
    match = match_take(notes, mechanical([n for n in notes if n.playing_hand is hand]))
    right = sum(note.verdict is Verdict.RIGHT for note in match.notes)
    # Where a hand holds a chord that the other hand has as well, either may be meant.
    assert right >= 0.99 * len(match.notes)
    assert len(match.missed) <= 0.01 * len(match.notes)


@settings(max_examples=8, deadline=None, derandomize=True)
@given(st.sampled_from(("bach/bwv846", PIECE, "study_in_d_minor")), seeds)
def test_each_note_taken_away_from_real_music_is_the_one_that_is_missed(name, seed):
    notes = [note for note in real_score(name).notes if note.expected and not note.grace]
    rng = random.Random(seed)
    inner = [
        k
        for k, n in enumerate(notes)
        if notes[0].onset_quarters + 4 < n.onset_quarters < notes[-1].onset_quarters - 4
        and not any(
            other.pitch == n.pitch and 0 <= abs(other.onset_quarters - n.onset_quarters) <= 1
            for other in (*notes[max(0, k - 12) : k], *notes[k + 1 : k + 13])
        )
    ]
    gone = rng.choice(inner)
    take = mechanical([note for k, note in enumerate(notes) if k != gone])
    match = match_take(notes, take)
    assert [note.score_index for note in match.missed] == [gone]
    assert {note.verdict for note in match.notes} == {Verdict.RIGHT}


def in_words(match, written):
    return (
        [
            (n.played, n.verdict, None if n.score_index is None else written[n.score_index])
            for n in match.notes
        ],
        sorted((written[m.score_index].note_id, m.passage, m.before_played) for m in match.missed),
        [(p.first_played, p.last_played, p.hands, p.began_with) for p in match.passages],
    )


@SLOW
@given(levels, plans, seeds)
def test_the_order_in_which_notes_are_handed_over_does_not_matter(level, plan, seed):
    take = practice_take(level, plan, seed)
    heard, _ = heard_of(take)
    heard = [replace(n, onset_seconds=n.onset_seconds + 1e-7 * k) for k, n in enumerate(heard)]
    written = list(take.written.notes)
    shuffled, mixed = list(written), list(heard)
    random.Random(seed).shuffle(shuffled)
    random.Random(seed + 1).shuffle(mixed)
    one = in_words(match_take(written, heard), written)
    assert in_words(match_take(shuffled, mixed), shuffled) == one


@SLOW
@given(levels, plans, seeds, st.floats(0.1, 600.0))
def test_silence_before_and_after_a_take_changes_nothing(level, plan, seed, silence):
    take = practice_take(level, plan, seed)
    heard, _ = heard_of(take)
    later = [replace(n, onset_seconds=n.onset_seconds + silence) for n in heard]
    earlier = [replace(n, onset_seconds=n.onset_seconds - silence) for n in later]
    written = take.written.notes
    assert in_words(match_take(written, later), written) == in_words(
        match_take(written, earlier), written
    )


@SLOW
@given(levels, plans, seeds)
def test_the_practising_player_accounts_for_every_written_note_of_a_pass(level, plan, seed):
    take = practice_take(level, plan, seed)
    truth, written = take.truth("take"), take.written
    assert len(truth["score_idx"]) == sum(len(one.strokes) for one in take.passes)
    for number, one in enumerate(take.passes):
        struck = Counter(
            index
            for index, at in zip(truth["score_idx"], truth["passes"], strict=True)
            if at == number and index >= 0
        )
        missed = Counter(index for index, at, _ in truth["missed"] if at == number)
        meant = {
            (written.onsets[place], written.notes[index].pitch)
            for place in range(one.first_onset, one.last_onset + 1)
            for index in written.at[place]
            if one.hand in (0, 1 if written.notes[index].staff == 1 else 2)
        }
        assert set((struck + missed).values()) <= {1}
        found = [written.notes[index] for index in (*struck, *missed)]
        assert {(float(n.onset_quarters), n.pitch) for n in found} == meant
