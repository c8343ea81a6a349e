"""Editing the grouping: an edit is a new value, and what cannot be done is said in a sentence."""

from __future__ import annotations

import json

import pytest

from companion.analysis.grouping.document import grouping_from_document, grouping_to_document
from companion.analysis.grouping.edits import (
    join_before,
    move_border,
    reset,
    set_begins,
    set_way,
    shift,
    split_at,
    toggle_at,
)
from companion.analysis.grouping.model import Way
from companion.analysis.grouping.proposal import propose_grouping
from companion.errors import EditRefused
from tests.unit.analysis.running_notes import hand_of, score_with

SCORE = score_with(hand_of(range(60, 73)), hand_of(range(40, 45), staff=2))
PROPOSED = propose_grouping(SCORE)


def begins(grouping, run_id="r0"):
    return grouping.run(run_id).begins


def test_the_proposal_to_start_from():
    assert begins(PROPOSED) == (0, 1, 5, 9)


def test_a_split_lets_a_group_begin_with_the_note():
    edited = split_at(PROPOSED, "r7")
    assert begins(edited) == (0, 1, 5, 7, 9)
    assert edited.group_of("r7").reason == "as you set it"
    assert edited.group_of("r1").reason == "three notes lead to the beat"


def test_the_old_value_is_the_undo():
    split_at(PROPOSED, "r7")
    assert begins(PROPOSED) == (0, 1, 5, 9)


def test_joining_takes_the_border_away():
    assert begins(join_before(PROPOSED, "r6")) == (0, 1, 9)


def test_a_click_sets_a_border_and_another_takes_it_away():
    once = toggle_at(PROPOSED, "r7")
    assert begins(once) == (0, 1, 5, 7, 9)
    assert begins(toggle_at(once, "r7")) == begins(PROPOSED)


def test_a_border_moves_between_its_neighbours():
    assert begins(move_border(PROPOSED, "r5", -2)) == (0, 1, 3, 9)
    with pytest.raises(EditRefused, match="beyond the next one"):
        move_border(PROPOSED, "r5", 4)


def test_all_borders_of_a_run_move_together():
    assert begins(shift(PROPOSED, "r0", 2)) == (0, 3, 7, 11)
    assert begins(shift(PROPOSED, "r0", -1)) == (0, 4, 8)


def test_one_run_is_divided_in_another_way():
    edited = set_way(SCORE, PROPOSED, ["r0"], Way.BEAT)
    assert begins(edited) == (0, 4, 8, 12)
    assert begins(edited, "l0") == begins(PROPOSED, "l0")


def test_reset_brings_the_proposal_back():
    edited = split_at(set_way(SCORE, PROPOSED, ["r0"], Way.BEAT), "r2")
    assert reset(SCORE, edited, ["r0"]) == PROPOSED


@pytest.mark.parametrize(
    ("edit", "sentence"),
    [
        (lambda: split_at(PROPOSED, "r5"), "already"),
        (lambda: split_at(PROPOSED, "nothing"), "in no run"),
        (lambda: join_before(PROPOSED, "r0"), "first group"),
        (lambda: toggle_at(PROPOSED, "r0"), "begins here"),
        (lambda: move_border(PROPOSED, "r0", 1), "cannot be moved"),
        (lambda: shift(PROPOSED, "r0", 40), "No border"),
        (lambda: set_begins(PROPOSED, "r0", [99]), "outside its run"),
        (lambda: PROPOSED.run("gone"), "no longer"),
    ],
)
def test_what_cannot_be_done_is_said(edit, sentence):
    with pytest.raises(EditRefused, match=sentence):
        edit()


def test_what_was_set_survives_being_stored():
    edited = split_at(set_way(SCORE, PROPOSED, ["r0"], Way.PATTERN), "r2")
    document = json.loads(json.dumps(grouping_to_document(edited)))
    back = grouping_from_document(SCORE, document)
    assert begins(back) == begins(edited)
    assert back.run("r0").way is Way.PATTERN
    assert back.run("l0") == PROPOSED.run("l0")


def test_an_untouched_grouping_stores_no_runs():
    assert grouping_to_document(PROPOSED)["runs"] == []


def test_what_was_set_for_a_run_that_has_changed_is_left_out():
    document = grouping_to_document(split_at(PROPOSED, "r7"))
    shorter = score_with(hand_of(range(60, 70)))
    assert grouping_from_document(shorter, document) == propose_grouping(shorter)


@pytest.mark.parametrize("document", [None, {}, {"format": 1, "way": "odd", "runs": []}, 3])
def test_a_damaged_document_is_refused(document):
    with pytest.raises(EditRefused, match="damaged"):
        grouping_from_document(SCORE, document)


def test_a_newer_document_is_refused():
    with pytest.raises(EditRefused, match="newer version"):
        grouping_from_document(SCORE, {"format": 99})
