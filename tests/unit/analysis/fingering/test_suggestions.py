"""Suggestions for real hands: chords, leaps, rests, set fingers and groups."""

from __future__ import annotations

import json
import pickle
from dataclasses import replace
from fractions import Fraction

import pytest

from companion.analysis.fingering.chosen import (
    ChosenFingers,
    chosen_from_document,
    chosen_to_document,
    clear_fingers,
    set_finger,
    take_suggestion,
)
from companion.analysis.fingering.rules import Rule
from companion.analysis.fingering.suggest import (
    check_fingers,
    finger_score,
    suggest_fingers,
    suggest_for_group,
)
from companion.analysis.grouping.edits import set_begins
from companion.analysis.grouping.proposal import propose_grouping
from companion.errors import Cancelled, EditRefused
from companion.resources import sample_scores_folder
from companion.score.model import Hand
from companion.score.reading.reader import read_score
from tests.unit.analysis.running_notes import hand_of, score_with

SCALE = (60, 62, 64, 65, 67, 69, 71, 72)


def figures(pitches, hand=Hand.RIGHT, **options):
    staff = 1 if hand is Hand.RIGHT else 2
    return suggest_fingers(hand_of(pitches, staff=staff), hand, **options)[0].in_figures


def test_a_set_finger_is_kept_and_the_rest_is_fitted_around_it():
    assert figures(SCALE, chosen={"r3": 4}).split()[3] == "4"


def test_set_fingers_that_no_hand_would_choose_are_kept_too():
    crossed = {"r0": 5, "r1": 5, "r2": 1}
    assert figures(SCALE, chosen=crossed).split()[:3] == ["5", "5", "1"]


def test_crossed_fingers_in_a_chord_are_kept():
    assert figures([(60, 64, 67)], chosen={"r0": 5, "r0.2": 1}).split()[::2] == ["5", "1"]


def test_a_triad_lies_under_one_three_and_five_or_one_two_and_four():
    assert figures([(60, 64, 67)]) in ("1 2 4", "1 3 5", "1 2 5")


def test_an_octave_is_taken_by_thumb_and_little_finger():
    assert figures([(60, 72)]) == "1 5"
    assert figures([(48, 60)], Hand.LEFT) == "5 1"


def test_fingers_of_a_chord_never_cross():
    fingers = [int(f) for f in figures([(60, 63, 66, 69)]).split()]
    assert fingers == sorted(set(fingers))


def test_a_chord_of_six_keys_has_a_finger_on_two_of_them():
    fingers = figures([(60, 62, 65, 67, 69, 72)]).split()
    assert len(fingers) == 6
    assert fingers[0] == fingers[1] == "1"


def test_more_keys_than_a_hand_can_strike_are_fingered_in_their_order():
    cluster = tuple(range(48, 60))
    fingers = [int(finger) for finger in figures([cluster, cluster], chosen={"r0.3": 4}).split()]
    assert len(fingers) == 24
    assert fingers[3] == 4
    assert fingers[12:] == sorted(fingers[12:])


def test_a_repeated_chord_keeps_its_fingers():
    fingers = figures([(60, 64, 67), (60, 64, 67)]).split()
    assert fingers[:3] == fingers[3:]


def test_a_leap_beyond_every_span_is_a_move_of_the_hand():
    found = suggest_fingers(hand_of([48, 84]), Hand.RIGHT)
    assert any(reason.rule is Rule.HAND_MOVES for reason in found[0].reasons)
    assert found[0].in_figures == "1 5"


def test_a_held_key_keeps_its_finger():
    held = replace(hand_of([72])[0], note_id="held", voice=2, duration_quarters=Fraction(1))
    moving = hand_of([64, 65, 67, 65])
    found = suggest_fingers([held, *moving], Hand.RIGHT)[0]
    fingers = dict(found.fingers)
    assert fingers["held"] == 5
    assert all(fingers[f"r{place}"] < 5 for place in range(4))


def test_the_other_hand_is_passed_over():
    assert suggest_fingers(hand_of(SCALE), Hand.LEFT) == ()


def test_several_suggestions_differ_and_rise():
    found = suggest_fingers(hand_of(SCALE), Hand.RIGHT, count=6)
    assert len({suggestion.in_figures for suggestion in found}) == 6
    totals = [suggestion.total for suggestion in found]
    assert totals == sorted(totals)


def test_suggestions_for_a_long_run_begin_with_different_fingers():
    run = [60, 62, 64, 65, 67, 69, 71, 72, 74, 76, 77, 79]
    found = suggest_fingers(hand_of(run), Hand.RIGHT)
    assert found[0].in_figures == "1 2 3 1 2 3 4 1 2 3 4 5"
    beginnings = [suggestion.in_figures[0] for suggestion in found]
    assert len(set(beginnings)) == len(beginnings) == 4
    totals = [suggestion.total for suggestion in found]
    assert totals == sorted(totals)
    assert suggest_fingers(hand_of(run), Hand.RIGHT, count=1)[0].total == totals[0]


def test_there_are_no_more_suggestions_than_fingerings():
    assert len(suggest_fingers(hand_of([60]), Hand.RIGHT, count=9)) == 5


def test_a_thumb_passing_inside_a_group_costs_more():
    run = [60, 62, 64, 65, 67, 69, 71, 72, 74, 76, 77, 79]
    as_taught = dict(
        zip((f"r{k}" for k in range(12)), (1, 2, 3, 1, 2, 3, 4, 1, 2, 3, 4, 5), strict=True)
    )
    score = score_with(hand_of(run))
    proposed = propose_grouping(score)
    plain = check_fingers(score.notes, Hand.RIGHT, as_taught).total
    told = [
        check_fingers(
            score.notes, Hand.RIGHT, as_taught, groups=set_begins(proposed, "r0", begins).groups
        )
        for begins in ([0, 3, 7], [0, 4, 8])
    ]
    assert [found.total - plain for found in told] == [0, 8]
    assert [r.points for r in told[1].reasons if r.rule is Rule.INSIDE_A_GROUP] == [8]


def test_groups_move_the_thumb():
    # the same notes; groups that begin elsewhere let the thumb pass elsewhere
    run = [60, 62, 64, 65, 67, 69, 71, 72, 74, 76, 74, 72]
    score = score_with(hand_of(run))
    proposed = propose_grouping(score)
    found = {
        suggest_fingers(score.notes, Hand.RIGHT, groups=set_begins(proposed, "r0", begins).groups)[
            0
        ].in_figures
        for begins in ([0, 3], [0, 3, 7])
    }
    assert found == {"1 2 3 1 2 3 1 2 3 4 3 2", "1 2 3 1 2 3 4 1 2 3 2 1"}


def test_a_group_is_fingered_with_its_goal():
    score = score_with(hand_of(range(60, 69)))
    grouping = propose_grouping(score)
    found = suggest_for_group(score, grouping.groups[1], grouping=grouping)
    assert [note_id for note_id, _ in found[0].fingers] == ["r1", "r2", "r3", "r4"]


def test_the_way_from_a_finger_that_was_set_counts():
    score = score_with(hand_of(range(60, 77)))
    grouping = propose_grouping(score)
    group = grouping.groups[2]
    after_the_fifth = suggest_for_group(score, group, chosen={"r4": 5}, grouping=grouping)[0]
    after_the_thumb = suggest_for_group(score, group, chosen={"r4": 1}, grouping=grouping)[0]
    assert [note_id for note_id, _ in after_the_thumb.fingers] == list(group.note_ids)
    assert after_the_fifth.total > after_the_thumb.total


def test_a_whole_score_is_fingered_hand_by_hand():
    score = score_with(hand_of(SCALE), hand_of([48, 43, 45, 40], staff=2))
    heard = []
    right, left = finger_score(score, report=heard.append)
    assert right.in_figures == "1 2 3 1 2 3 4 5"
    assert [note_id for note_id, _ in left.fingers] == ["l0", "l1", "l2", "l3"]
    assert heard[-1].fraction == 1.0
    assert right.total == sum(points for _, points in right.points_of_note)


@pytest.mark.parametrize(
    "name", sorted(path.stem for path in sample_scores_folder().glob("*.musicxml"))
)
def test_every_note_of_a_real_score_gets_one_finger(name):
    score = read_score(sample_scores_folder() / f"{name}.musicxml")
    given = [note_id for hand in finger_score(score) for note_id, _ in hand.fingers]
    assert sorted(given) == sorted(note.note_id for note in score.notes if note.expected)


def test_two_voices_on_one_key_share_its_finger():
    notes = hand_of([60, 64])
    double = replace(notes[0], note_id="alto", voice=2)
    found = dict(suggest_fingers([*notes, double], Hand.RIGHT)[0].fingers)
    assert found["alto"] == found["r0"]
    kept = suggest_fingers([*notes, double], Hand.RIGHT, chosen={"alto": 4})[0]
    assert dict(kept.fingers)["r0"] == 4


def test_fingering_a_score_can_be_stopped():
    def stop(_):
        raise Cancelled

    with pytest.raises(Cancelled):
        finger_score(score_with(hand_of(SCALE)), report=stop)


def test_chosen_fingers_survive_being_stored_and_sent():
    chosen = set_finger(ChosenFingers(keep_printed=False), "n7", 3)
    assert chosen_from_document(json.loads(json.dumps(chosen_to_document(chosen)))) == chosen
    assert pickle.loads(pickle.dumps(chosen)) == chosen


def test_fingers_that_were_stored_with_a_hand_are_still_read():
    document = {"format": 1, "fingers": {"n1": 2}, "spans": [0, 0], "model": "taught"}
    assert chosen_from_document(document) == set_finger(ChosenFingers(), "n1", 2)


def test_printed_fingers_are_locked_unless_the_pianist_says_otherwise():
    chosen = set_finger(ChosenFingers(), "n2", 5)
    printed = {"n1": 3, "n2": 4}
    assert chosen.locked(printed) == {"n1": 3, "n2": 5}
    assert replace(chosen, keep_printed=False).locked(printed) == {"n2": 5}


def test_a_suggestion_can_be_taken_and_cleared():
    suggestion = suggest_fingers(hand_of(SCALE), Hand.RIGHT)[0]
    taken = take_suggestion(ChosenFingers(), suggestion)
    assert taken.by_id["r3"] == 1
    assert clear_fingers(taken, taken.by_id) == ChosenFingers()


@pytest.mark.parametrize(
    "document",
    [
        None,
        {},
        {"format": 1, "fingers": {"n1": 6}},
        {"format": 1, "fingers": {"n1": "thumb"}},
        {"format": 1, "fingers": ["n1"]},
    ],
)
def test_damaged_fingers_are_refused(document):
    with pytest.raises(EditRefused, match="damaged"):
        chosen_from_document(document)


def test_a_sixth_finger_is_refused():
    with pytest.raises(EditRefused, match="1, the thumb, to 5"):
        set_finger(ChosenFingers(), "n1", 6)
