"""Fingers for a whole piece: locked ones kept, asked once, and asked anew for other hands."""

from __future__ import annotations

import pytest

from companion.analysis.fingering.hands import PianistHands
from companion.analysis.fingering.spans import HandSize, HandSpans
from companion.analysis.grouping.proposal import propose_grouping
from companion.practice.fingering import suggested_fingers
from companion.progress import Progress
from companion.resources import sample_scores_folder
from companion.score.reading.reader import read_score


@pytest.fixture(scope="module")
def score():
    return read_score(sample_scores_folder() / "invention_in_e_minor.musicxml")


def test_every_expected_note_has_a_finger_and_locked_ones_stay(score, tmp_path):
    note_id = score.notes[0].note_id
    locked = {note_id: 5}
    found = dict(
        suggested_fingers(score, PianistHands(), locked, propose_grouping(score), tmp_path)
    )
    assert set(found) == {note.note_id for note in score.notes if note.expected}
    assert found[note_id] == 5


def test_the_same_question_is_worked_out_once_and_another_hand_anew(score, tmp_path):
    grouping = propose_grouping(score)

    def ask(hands):
        reports: list[Progress] = []
        found = suggested_fingers(score, hands, {}, grouping, tmp_path, reports.append)
        return found, len(reports)

    first, work = ask(PianistHands())
    assert work > 0
    assert ask(PianistHands()) == (first, 0)
    small = HandSpans.of(HandSize.SMALL)
    assert ask(PianistHands(right=small, left=small))[1] > 0
