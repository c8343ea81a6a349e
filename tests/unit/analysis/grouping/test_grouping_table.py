"""Groups as text and as a document."""

from __future__ import annotations

import json

from companion.analysis.fingering.suggest import finger_score
from companion.analysis.grouping.grouping_table import groups_document, groups_table
from companion.analysis.grouping.proposal import propose_grouping
from tests.unit.analysis.running_notes import hand_of, score_with

SCORE = score_with(hand_of([60, 62, 64, 65, 67, 69, 71, 72, 74]))
GROUPING = propose_grouping(SCORE)


def test_borders_are_strokes_between_the_names():
    assert groups_table(SCORE, GROUPING, 80).splitlines() == [
        "m. 1, right hand, leading to the beat:",
        "    C4 | D4 E4 F4 G4 | A4 B4 C5 D5",
    ]


def test_a_score_without_runs_says_so():
    quiet = score_with(hand_of([60, 62]))
    assert "no runs" in groups_table(quiet, propose_grouping(quiet), 80)


def test_the_document_names_notes_goals_and_fingers():
    right, _ = finger_score(SCORE, grouping=GROUPING)
    document = json.loads(json.dumps(groups_document(SCORE, GROUPING, dict(right.fingers))))
    (run,) = document["runs"]
    assert run["groups"][1]["notes"] == ["r1", "r2", "r3", "r4"]
    assert run["groups"][1]["goal"] == ["r4"]
    assert len(run["groups"][1]["fingers"]) == 4
    assert "fingers" not in groups_document(SCORE, GROUPING)["runs"][0]["groups"][1]
