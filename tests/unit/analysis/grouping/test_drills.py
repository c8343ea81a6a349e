"""Drills as small written passages: their rhythms, their stops, their ids."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from companion.analysis.grouping.drills import (
    LONG_SHORT,
    SHORT_LONG,
    DrillKind,
    added_notes,
    chain_of_groups,
    drills_of_group,
    one_long,
    rhythms_for,
    stop_on_every,
)
from companion.analysis.grouping.model import Way
from companion.analysis.grouping.proposal import propose_grouping
from companion.errors import EditRefused
from tests.unit.analysis.running_notes import hand_of, score_with

SCORE = score_with(hand_of([60, 62, 64, 65, 67, 69, 71, 72, 74, 72, 71, 69, 67, 65, 64, 62, 60]))
LEADING = propose_grouping(SCORE)
BY_BEAT = propose_grouping(SCORE, Way.BEAT)
GROUP = LEADING.groups[1]


def in_ms(steps, note_ms=250):
    return [float(step * note_ms) for step in steps]


def onsets(drill):
    return [step.onset_quarters for step in drill.steps]


def test_dotted_rhythm_of_four_notes_in_a_second():
    # common practice, 4 sixteenths in 1000 ms: 375 125 375 125
    assert in_ms(LONG_SHORT.steps(4)) == [375, 125, 375, 125]
    assert in_ms(SHORT_LONG.steps(4)) == [125, 375, 125, 375]


def test_one_long_note_of_four_in_a_second():
    # L = 3 units of 6: 500, 166.7, 166.7, 166.7
    assert in_ms(one_long(0, 4).steps(4)) == pytest.approx([500, 500 / 3, 500 / 3, 500 / 3])
    assert in_ms(one_long(2, 4).steps(4))[2] == 500


@pytest.mark.parametrize("count", range(1, 13))
def test_rhythms_keep_the_length_of_the_group(count):
    for rhythm in (LONG_SHORT, SHORT_LONG, one_long(0, max(2, count))):
        assert sum(rhythm.steps(count)) == count


def test_one_group_stops_on_its_goal():
    drill = drills_of_group(SCORE, LEADING, GROUP)[0]
    assert drill.kind is DrillKind.ONE
    assert drill.note_ids == ("r1", "r2", "r3", "r4")
    assert [step.held for step in drill.steps] == [False, False, False, True]
    assert drill.steps[-1].duration_quarters == 1
    assert drill.title == "One group, stop on G4"


def test_a_goal_behind_the_group_is_written_after_it():
    drill = drills_of_group(SCORE, BY_BEAT, BY_BEAT.groups[0])[0]
    assert drill.note_ids == ("r0", "r1", "r2", "r3", "r4")
    assert [step.group for step in drill.steps] == [0, 0, 0, 0, 1]


def test_the_drill_begins_at_nought_and_keeps_the_places_of_the_score():
    drill = drills_of_group(SCORE, LEADING, LEADING.groups[2])[0]
    assert onsets(drill) == [0, Fraction(1, 4), Fraction(1, 2), Fraction(3, 4)]
    assert drill.notes[0].note_id == "r5"
    assert drill.notes[0].measure_offset_quarters == Fraction(5, 4)


def test_a_chain_has_its_groups_in_a_row():
    drill = chain_of_groups(SCORE, LEADING, GROUP, 3)
    assert drill.kind is DrillKind.CHAIN
    assert [step.group for step in drill.steps] == [0] * 4 + [1] * 4 + [2] * 4
    assert drill.title == "Three groups in a row, stop on G4"


def test_no_chain_is_longer_than_its_run():
    with pytest.raises(EditRefused, match="not so many groups"):
        chain_of_groups(SCORE, LEADING, GROUP, 9)


def test_a_rhythm_changes_the_onsets_inside_the_group():
    drill = chain_of_groups(SCORE, LEADING, GROUP, 2, LONG_SHORT)
    assert drill.kind is DrillKind.RHYTHM
    eighths = [onset / Fraction(1, 8) for onset in onsets(drill)]
    assert eighths == [0, 3, 4, 7, 8, 11, 12, 15]


def test_stops_on_every_second_note():
    drill = chain_of_groups(SCORE, LEADING, GROUP, 2, stop_on_every(2))
    assert [step.held for step in drill.steps] == [False, True] * 4
    assert onsets(drill)[:4] == [0, Fraction(1, 4), Fraction(5, 4), Fraction(3, 2)]


def test_notes_are_added_one_by_one_up_to_the_goal():
    drills = added_notes(SCORE, LEADING, GROUP)
    assert [drill.note_ids for drill in drills] == [
        ("r1", "r2"),
        ("r1", "r2", "r3"),
        ("r1", "r2", "r3", "r4"),
    ]


def test_notes_are_added_before_the_goal():
    drills = added_notes(SCORE, LEADING, GROUP, from_goal=True)
    assert [drill.note_ids for drill in drills] == [
        ("r3", "r4"),
        ("r2", "r3", "r4"),
        ("r1", "r2", "r3", "r4"),
    ]


def test_all_drills_of_a_group_have_their_own_names():
    drills = drills_of_group(SCORE, LEADING, GROUP)
    assert len({drill.drill_id for drill in drills}) == len(drills)
    assert {drill.kind for drill in drills} == set(DrillKind)


def test_the_same_drill_has_the_same_name_on_another_day():
    again = propose_grouping(SCORE)
    one, other = (drills_of_group(SCORE, g, g.groups[1]) for g in (LEADING, again))
    assert one == other


def test_a_single_note_has_no_rhythm():
    assert rhythms_for(LEADING.groups[0]) == ()
    assert rhythms_for(replace(GROUP, end_step=GROUP.first_step + 3))[2].name == "first note long"
