"""The matcher against a performance that experts aligned, another matcher and another F measure.

The performance (Mozart, K. 265, variation 1) is example data of the PyPI package ``parangonar``
(Peter et al. 2023), in the "match" format that ``partitura`` reads.
"""

from __future__ import annotations

import random
import warnings

import numpy as np
import pytest

from companion.listening.matching.match import HeardNote, ScoreNote, match_take
from companion.listening.notes import Verdict
from tests.unit.listening.invented_music import played, written


@pytest.fixture(scope="module")
def example():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        parangonar = pytest.importorskip("parangonar", exc_type=ImportError)
        partitura = pytest.importorskip("partitura")
        performance, alignment, score = partitura.load_match(parangonar.EXAMPLE, create_score=True)
        score_array = score.note_array(include_grace_notes=True, include_staff=True)
        played_array = performance.note_array()
    played_array = played_array[np.argsort(played_array["onset_sec"], kind="stable")]
    return parangonar, score_array, played_array, alignment


def as_values(score_array, played_array):
    score = [
        ScoreNote(
            str(note["id"]),
            float(note["onset_quarter"]),
            float(note["duration_quarter"]),
            int(note["pitch"]),
            int(note["staff"]),
            int(note["voice"]),
            grace=bool(note["is_grace"]),
        )
        for note in score_array
    ]
    take = [
        HeardNote(
            float(note["onset_sec"]),
            float(note["duration_sec"]),
            int(note["pitch"]),
            int(note["velocity"]),
        )
        for note in played_array
    ]
    return score, take


def as_alignment(match, played_array):
    found = [
        {
            "label": "match",
            "score_id": note.note_id,
            "performance_id": str(played_array["id"][note.played]),
        }
        if note.verdict is Verdict.RIGHT
        else {"label": "insertion", "performance_id": str(played_array["id"][note.played])}
        for note in match.notes
    ]
    return found + [{"label": "deletion", "score_id": note.note_id} for note in match.missed]


def test_experts_alignment_of_a_real_performance_is_found(example):
    parangonar, score_array, played_array, alignment = example
    match = match_take(*as_values(score_array, played_array))
    *_, f_measure = parangonar.fscore_alignments(
        as_alignment(match, played_array), alignment, types=["match", "insertion", "deletion"]
    )
    assert f_measure > 0.995  # 1.0 measured
    assert len(match.passages) == 1


def test_damaged_real_performance_is_matched_at_least_as_well_as_by_the_reference(example):
    parangonar, score_array, played_array, alignment = example
    chance = random.Random(7)
    kept = np.array([chance.random() > 0.06 for _ in played_array])
    damaged = played_array[kept].copy()
    damaged["onset_sec"] += np.array([chance.gauss(0.0, 0.012) for _ in damaged])
    damaged["onset_sec"] -= damaged["onset_sec"].min()
    damaged = damaged[np.argsort(damaged["onset_sec"], kind="stable")]
    there = {str(name) for name in damaged["id"]}
    truth = [
        item
        if item["label"] == "deletion" or item["performance_id"] in there
        else {"label": "deletion", "score_id": item["score_id"]}
        for item in alignment
        if item["label"] != "insertion" or item["performance_id"] in there
    ]
    ours = as_alignment(match_take(*as_values(score_array, damaged)), damaged)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = parangonar.DualDTWNoteMatcher()(score_array, damaged)
    our_f = parangonar.fscore_alignments(ours, truth, types=["match"])[2]
    their_f = parangonar.fscore_alignments(theirs, truth, types=["match"])[2]
    assert our_f > 0.985
    assert our_f >= their_f - 0.005


def test_accuracy_is_the_note_f_measure_of_mir_eval():
    mir_eval = pytest.importorskip("mir_eval")
    score = written()
    chance = random.Random(3)
    take = []
    for note in played(score):
        kind = chance.choice(["right"] * 9 + ["wrong", "missed"])
        if kind != "missed":
            # An octave outwards, where nothing is written that the key could stand for instead.
            pitch = note.pitch + (kind == "wrong") * (12 if note.pitch > 60 else -12)
            take.append(HeardNote(note.onset_seconds, note.duration_seconds, pitch, 70))
    match = match_take(score, take)
    right = sum(note.verdict is Verdict.RIGHT for note in match.notes)
    wrong = sum(note.verdict is Verdict.WRONG for note in match.notes)
    expected = right + wrong + len(match.missed)
    accuracy = 2 * right / (len(take) + expected)

    def intervals(notes):
        return np.array([[n.onset_seconds, n.onset_seconds + 0.1] for n in notes])

    def hertz(notes):
        return np.array([440.0 * 2 ** ((n.pitch - 69) / 12) for n in notes])

    nominal = played(score)
    _, _, f_measure, _ = mir_eval.transcription.precision_recall_f1_overlap(
        intervals(nominal), hertz(nominal), intervals(take), hertz(take), offset_ratio=None
    )
    assert accuracy == pytest.approx(f_measure, abs=1e-9)
