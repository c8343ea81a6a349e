"""What holds for the grouping of any run."""

from __future__ import annotations

import json
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from companion.analysis.grouping.document import grouping_from_document, grouping_to_document
from companion.analysis.grouping.edits import reset, toggle_at
from companion.analysis.grouping.model import Way
from companion.analysis.grouping.proposal import propose_grouping
from tests.unit.analysis.running_notes import hand_of, score_with

VALUES = st.sampled_from([Fraction(1, 2), Fraction(1, 3), Fraction(1, 4), Fraction(1, 8)])
STEPS = st.lists(
    st.one_of(st.none(), st.integers(48, 84), st.sampled_from([(60, 64), (55, 62, 67)])),
    min_size=1,
    max_size=40,
)


@given(steps=STEPS, value=VALUES, way=st.sampled_from(Way))
def test_groups_part_each_run_without_gap_or_overlap(steps, value, way):
    score = score_with(hand_of(steps, value=value))
    for run in propose_grouping(score, way).runs:
        together = [note_id for group in run.groups for note_id in group.note_ids]
        assert together == list(run.run.note_ids)
        assert all(group.end_step > group.first_step for group in run.groups)
        assert all(group.reason for group in run.groups)


@given(steps=STEPS, up=st.integers(-12, 12), way=st.sampled_from([Way.POSITION, Way.LEADING]))
def test_moving_all_keys_leaves_positions_and_beats_where_they_are(steps, up, way):
    moved = [
        None if step is None else step + up if isinstance(step, int) else [p + up for p in step]
        for step in steps
    ]
    one, other = (propose_grouping(score_with(hand_of(row)), way) for row in (steps, moved))
    assert [run.begins for run in one.runs] == [run.begins for run in other.runs]


@given(steps=st.lists(st.integers(48, 84), min_size=4, max_size=30), data=st.data())
def test_edits_are_stored_and_can_be_taken_back(steps, data):
    score = score_with(hand_of(steps))
    proposed = propose_grouping(score)
    edited = proposed
    clicks = data.draw(st.lists(st.integers(1, len(steps) - 1), max_size=6))
    for place in clicks:
        edited = toggle_at(edited, f"r{place}")
    back = grouping_from_document(score, json.loads(json.dumps(grouping_to_document(edited))))
    assert [run.begins for run in back.runs] == [run.begins for run in edited.runs]
    assert reset(score, edited, [run.run.run_id for run in edited.runs]) == proposed
