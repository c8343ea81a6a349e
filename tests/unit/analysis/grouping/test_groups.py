"""How runs are divided: worked examples of the practice literature and of the boundary models."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from companion.analysis.grouping.boundaries import (
    attack_point_strength,
    boundary_strengths,
    local_strengths,
    normalised,
)
from companion.analysis.grouping.cuts import cut_by_fingers, cut_by_position, cut_leading
from companion.analysis.grouping.model import Way
from companion.analysis.grouping.proposal import (
    group_beat_quarters,
    propose_grouping,
    runs_of,
)
from companion.score.model import Measure
from tests.unit.analysis.running_notes import hand_of, score_with

C_MAJOR = (60, 62, 64, 65, 67, 69, 71, 72)


def stretches(score, way, **options):
    grouping = propose_grouping(score, way, **options)
    return [(group.first_step, group.end_step) for group in grouping.groups]


def test_nine_notes_from_a_beat_lead_to_the_beats():
    # common practice: beats of four, notes 0 to 8: {0} {1-4} {5-8}
    score = score_with(hand_of(range(60, 69)))
    assert stretches(score, Way.LEADING) == [(0, 1), (1, 5), (5, 9)]


def test_nine_notes_beat_by_beat():
    # common practice: {0-3} {4-7} {8}
    score = score_with(hand_of(range(60, 69)))
    assert stretches(score, Way.BEAT) == [(0, 4), (4, 8), (8, 9)]


def test_greedy_five_finger_positions_of_a_scale():
    # common practice: while max - min <= 7: {C D E F G} {A B C}
    cuts = cut_by_position([[pitch] for pitch in C_MAJOR], 7)
    assert cuts.begins == (0, 5)
    assert cuts.reasons[0] == "possible hand position: all keys within a fifth"


def test_an_open_hand_holds_an_octave():
    assert cut_by_position([[pitch] for pitch in C_MAJOR], 12).begins == (0,)


def test_known_fingers_cut_the_scale_at_the_thumb():
    # the standard fingering 123 12345 moves at {C D E} {F G A B C}
    fingers = [[finger] for finger in (1, 2, 3, 1, 2, 3, 4, 5)]
    cuts = cut_by_fingers([[pitch] for pitch in C_MAJOR], fingers, left=False)
    assert cuts.begins == (0, 3)
    assert "thumb passes under" in cuts.reasons[1]


def test_a_finger_over_the_thumb_cuts_a_scale_of_the_left_hand():
    fingers = [[finger] for finger in (5, 4, 3, 2, 1, 3, 2, 1)]  # C major up, as it is taught
    cuts = cut_by_fingers([[pitch] for pitch in C_MAJOR], fingers, left=True)
    assert cuts.begins == (0, 5)
    assert cuts.reasons[1] == "a new hand position: finger 3 passes over the thumb"


def test_fingers_of_the_pianist_are_used_for_hand_positions():
    score = score_with(hand_of(C_MAJOR))
    fingers = {f"r{place}": finger for place, finger in enumerate((1, 2, 3, 1, 2, 3, 4, 5))}
    assert stretches(score, Way.POSITION, fingers=fingers) == [(0, 3), (3, 8)]


def test_a_figure_that_climbs_the_scale_is_found_again_and_again():
    figure = [60, 64, 62, 65, 62, 65, 64, 67, 64, 67, 65, 69]  # broken thirds on C, D, E
    score = score_with(hand_of(figure))
    grouping = propose_grouping(score, Way.PATTERN)
    assert [(g.first_step, g.end_step) for g in grouping.groups] == [(0, 4), (4, 8), (8, 12)]
    assert [group.reason for group in grouping.groups] == [
        "a new figure of four notes",
        "the same figure again",
        "the same figure again",
    ]


def test_a_figure_of_three_in_sixteenths_goes_across_the_beats():
    figure = [72, 67, 64] * 4
    assert stretches(score_with(hand_of(figure)), Way.PATTERN) == [(0, 3), (3, 6), (6, 9), (9, 12)]


def test_local_boundaries_of_one_long_interval():
    # Cambouropoulos 2001: intervals 1 1 1 2 1 1, worked out by the formula
    strengths = local_strengths([1, 1, 1, 2, 1, 1])
    assert strengths == pytest.approx((0, 0, 1 / 3, 4 / 3, 1 / 3, 0))
    assert normalised(strengths) == pytest.approx((0, 0, 0.25, 1, 0.25, 0))


def test_a_melody_is_cut_at_its_leap_and_its_long_note():
    strengths = boundary_strengths([60, 62, 64, 76, 77], [0, 1, 2, 5, 6], [1, 2, 3, 6, 7])
    assert max(range(5), key=strengths.__getitem__) == 3
    assert strengths[3] == pytest.approx(1.0)


def test_a_single_note_has_no_boundary():
    assert boundary_strengths([60], [0], [1]) == (0.0,)


def test_strength_of_an_attack_point():
    # preference rule 2b: .5, 1, .5 gives .5
    assert attack_point_strength(0.5, 1.0, 0.5) == 0.5
    assert attack_point_strength(1.0, 0.5, 1.0) == 0.0


def test_the_last_group_leads_to_the_note_behind_the_run():
    run = hand_of([60, 62, 64, 65, 67, 69, 71, 72])
    landing = replace(hand_of([74], value=Fraction(1))[0], note_id="goal", onset_quarters=2)
    landing = replace(landing, measure_offset_quarters=Fraction(2))
    grouping = propose_grouping(score_with(run, [landing]))
    last = grouping.groups[-1]
    assert last.note_ids == ("r5", "r6", "r7")
    assert last.goal_ids == ("goal",)
    assert not last.goal_inside
    assert last.reason == "three notes lead to the note behind the run"


def test_a_group_that_ends_on_the_beat_has_its_goal_inside():
    group = propose_grouping(score_with(hand_of(range(60, 69)))).groups[1]
    assert group.goal_ids == ("r4",)
    assert group.goal_inside


def test_a_run_before_a_rest_leads_nowhere():
    grouping = propose_grouping(score_with(hand_of([60, 62, 64, 65, 67, 69, 71])))
    assert grouping.groups[-1].goal_ids == ()
    assert grouping.groups[-1].reason == "the end of the run, before a rest"


def test_double_notes_are_one_step():
    (run,) = runs_of(score_with(hand_of([(60, 64), (62, 65), (64, 67), (65, 69)])))
    assert run.steps[0] == ("r0", "r0.1")
    assert len(run.steps) == 4


def test_graces_do_not_break_a_run_that_is_grouped():
    notes = hand_of([60, 62, 64, 65, 67])
    grace = replace(notes[2], note_id="g", grace=True, duration_quarters=Fraction(0))
    (run,) = runs_of(score_with([*notes, grace]))
    assert run.note_ids == ("r0", "r1", "r2", "r3", "r4")


def test_each_hand_has_its_own_runs():
    score = score_with(hand_of([60, 62, 64, 65]), hand_of([48, 47, 45, 43], staff=2))
    assert {run.hand.value for run in runs_of(score)} == {"right", "left"}


@pytest.mark.parametrize(
    ("beats", "beat_type", "value", "expected"),
    [
        (4, 4, Fraction(1, 4), 1),  # sixteenths: four to a quarter
        (4, 4, Fraction(1, 2), 2),  # eighths: four to a half measure
        (3, 4, Fraction(1, 2), 3),  # eighths in three: the whole measure
        (6, 8, Fraction(1, 2), Fraction(3, 2)),  # eighths: three to a dotted quarter
        (6, 8, Fraction(1, 4), Fraction(3, 2)),  # sixteenths: six to a dotted quarter
        (4, 4, Fraction(1, 8), Fraction(1, 2)),  # thirty-seconds: four to an eighth
        (4, 4, Fraction(1, 3), 1),  # triplets
        (3, 8, Fraction(1, 4), Fraction(3, 2)),  # six to the measure
        (9, 8, Fraction(1, 8), Fraction(1, 2)),  # twelve to a beat: four to an eighth
    ],
)
def test_the_beat_that_groups_lead_to(beats, beat_type, value, expected):
    measure = Measure(
        index=0,
        number="1",
        start_quarters=Fraction(0),
        duration_quarters=Fraction(4 * beats, beat_type),
        beats=beats,
        beat_type=beat_type,
    )
    assert group_beat_quarters(measure, value) == expected


def test_an_upbeat_is_counted_from_the_missing_bar_line():
    # three sixteenths before the first bar line lead to it together
    upbeat = [
        replace(note, measure_index=0, measure_offset_quarters=note.onset_quarters)
        for note in hand_of([67, 69, 71])
    ]
    rest = [
        replace(
            note,
            measure_index=1,
            measure_offset_quarters=note.onset_quarters - Fraction(3, 4),
        )
        for note in hand_of([72, 74, 76, 77, 79], start=Fraction(3, 4), name="b")
    ]
    score = score_with(upbeat, rest)
    first = replace(score.measures[0], number="0", duration_quarters=Fraction(3, 4))
    second = replace(
        score.measures[0], index=1, start_quarters=Fraction(3, 4), duration_quarters=Fraction(4)
    )
    score = replace(score, measures=(first, second))
    assert stretches(score, Way.LEADING) == [(0, 4), (4, 8)]


def test_the_whole_grouping_reports_how_far_it_is():
    heard = []
    propose_grouping(score_with(hand_of(range(60, 69))), report=heard.append)
    assert heard[-1].fraction == 1.0


def test_a_lone_note_on_the_beat_is_where_the_run_sets_out():
    assert cut_leading([True, False, False], lands=False).reasons == (
        "the note on the beat, where the run sets out",
        "the end of the run, before a rest",
    )
