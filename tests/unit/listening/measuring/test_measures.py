"""Measures of invented takes whose true match is known."""

from dataclasses import replace
from fractions import Fraction

import pytest

from companion.listening.measuring.measures import measure_take
from companion.listening.measuring.score_index import index_score
from companion.listening.measuring.take_measures import SectionMeasures
from companion.listening.notes import Beginning, Hands, Match, PedalChange
from companion.score.model import CueKind, Position, PrintedCue, TempoMark
from companion.score.sections.edits import nest
from companion.score.sections.section_map import SectionMap
from tests.unit.listening.playing import Performance, invented_score, map_of, note, score_of

SCORE = invented_score(8)
MAP = map_of(SCORE, 0, 4)


def measured(performance: Performance, section_map=MAP, pedals=()):
    heard, match = performance.finished()
    return measure_take(performance.score, section_map, heard, match, pedals)


def test_an_exact_take_is_right_steady_even_and_together():
    take = measured(Performance(SCORE).play())
    for row in (take.whole, *take.sections):
        assert row.accuracy == row.precision == row.recall == 1.0
        assert row.running_tempo_quarters_per_minute == pytest.approx(120.0)
        assert row.through_tempo_quarters_per_minute == pytest.approx(120.0)
        assert row.steadiness == pytest.approx(0.0, abs=1e-12)
        assert row.evenness_sd_ms == pytest.approx(0.0, abs=1e-9)
        assert row.evenness_cv == pytest.approx(0.0, abs=1e-12)
        assert row.chord_spread_ms == pytest.approx(0.0, abs=1e-9)
        assert row.complete
        assert (row.hesitations, row.stops, row.restarts, row.jumps) == (0, 0, 0, 0)
        assert row.errors_per_100 == 0.0


def test_precision_recall_and_f_measure_of_the_worked_example():
    # 100 written notes, 95 matched, 5 missing, 3 extra; worked out with the formulas of mir_eval
    row = SectionMeasures(
        section_id="a", hands=Hands.BOTH, expected=100, right=95, missed=5, added=3
    )
    assert row.precision == pytest.approx(0.969388, abs=1e-6)
    assert row.recall == pytest.approx(0.95)
    assert row.accuracy == pytest.approx(0.959596, abs=1e-6)
    assert row.errors_per_100 == pytest.approx(8.0)


@pytest.mark.parametrize(("right", "wrong", "missed", "added"), [(95, 0, 5, 3), (40, 7, 3, 11)])
def test_accuracy_is_the_f_measure_of_mir_eval(right, wrong, missed, added):
    mir_eval_util = pytest.importorskip("mir_eval.util")
    row = SectionMeasures(
        section_id="a",
        hands=Hands.BOTH,
        expected=right + wrong + missed,
        right=right,
        wrong=wrong,
        missed=missed,
        added=added,
    )
    assert row.accuracy == pytest.approx(mir_eval_util.f_measure(row.precision, row.recall))


def test_a_wrong_key_counts_once_or_both_ways():
    row = SectionMeasures(
        section_id="a", hands=Hands.BOTH, expected=50, right=46, wrong=3, missed=1, added=2
    )
    assert row.errors_per_100 == pytest.approx(100 * 6 / 50)
    assert row.errors_per_100_both_ways == pytest.approx(100 * 9 / 50)


def test_nothing_played_has_no_accuracy():
    row = SectionMeasures(section_id="a", hands=Hands.BOTH)
    assert row.precision is row.recall is row.accuracy is row.errors_per_100 is None
    assert row.hand_balance is row.dynamic_range is None


def test_notes_are_counted_in_the_section_they_are_written_in():
    take = measured(
        Performance(SCORE).play(
            miss=("r0.3", "l5.2"), wrong=("r6.1",), added_after=("r7.2", "r7.5")
        )
    )
    first, second = take.sections
    assert (first.expected, first.right, first.wrong, first.missed, first.added) == (
        48, 47, 0, 1, 0,
    )  # fmt: skip
    assert (second.expected, second.right, second.wrong, second.missed, second.added) == (
        48, 46, 1, 1, 2,
    )  # fmt: skip
    assert take.whole.played == 47 + 46 + 1 + 2


def test_counts_of_children_add_up_to_those_of_their_parent():
    nested = nest(map_of(SCORE, 0, 2, 4), "a", "b", "First half")
    take = measured(Performance(SCORE).play(miss=("r0.3", "r3.1"), wrong=("l1.2",)), nested)
    by_id = {row.section_id: row for row in take.sections}
    parent = by_id[nested.sections[0].section_id]
    for name in ("expected", "right", "wrong", "missed", "added"):
        assert getattr(parent, name) == getattr(by_id["a"], name) + getattr(by_id["b"], name)


def test_only_touched_sections_have_a_row():
    take = measured(Performance(SCORE).play(0, 8))
    assert [row.section_id for row in take.sections] == ["a"]
    assert take.of_section("b") == ()
    assert take.sections[0].coverage == pytest.approx(0.5)
    assert not take.sections[0].complete


def test_one_hand_alone_is_asked_for_its_own_notes_only():
    (row, _) = measured(Performance(SCORE).play(hands=Hands.LEFT)).sections
    assert (row.hands, row.expected, row.right, row.complete) == (Hands.LEFT, 16, 16, True)
    assert row.accuracy == 1.0
    assert row.left_right_offset_ms is None
    assert (row.right_velocity, row.left_velocity) == (None, 64.0)


def test_hands_alone_and_together_give_a_row_each():
    performance = Performance(SCORE).play(0, 16, hands=Hands.RIGHT).pause(1)
    take = measured(performance.play(0, 16, hands=Hands.BOTH))
    assert [(r.hands, r.expected, r.passages) for r in take.sections] == [
        (Hands.RIGHT, 32, 1),
        (Hands.BOTH, 48, 1),
    ]
    assert take.whole.hands is Hands.BOTH
    assert take.whole.expected == 80


def test_a_restart_counts_where_it_broke_off_and_the_notes_count_twice():
    take = measured(Performance(SCORE).play(0, 24).pause(0.2).play(20, 32))
    first, second = take.sections
    assert (first.restarts, second.restarts) == (0, 1)
    assert second.expected == 48 + 12
    assert second.passages == 2
    assert second.complete
    rows = [row for row in take.passages if row.section_id == "b"]
    assert [(row.passage, row.complete, row.restarts) for row in rows] == [
        (0, False, 1),
        (1, False, 0),
    ]


def test_each_passage_has_figures_of_its_own_that_add_up_to_those_of_the_take():
    take = measured(Performance(SCORE).play(0, 24, wrong=("r3.1",)).pause(0.2).play(20, 32))
    first, second = take.whole_passages
    assert (first.passage, second.passage) == (0, 1)
    assert (first.expected, second.expected) == (72, 36)
    assert (first.wrong, second.wrong) == (1, 0)
    for name in ("expected", "right", "wrong", "missed", "added"):
        total = getattr(take.whole, name)
        assert total == getattr(first, name) + getattr(second, name)


def test_the_only_passage_is_the_whole_take():
    take = measured(Performance(SCORE).play(0, 24))
    assert take.whole_passages == (replace(take.whole, passage=0),)


def test_going_back_after_the_end_of_a_section_is_no_restart_in_it():
    take = measured(Performance(SCORE).play(0, 16).play(0, 16))
    assert take.sections[0].restarts == 0
    assert take.whole.restarts == 1


def test_a_jump_ahead_is_no_restart():
    take = measured(Performance(SCORE).play(0, 8).play(24, 32, began_with=Beginning.JUMP))
    assert (take.whole.restarts, take.whole.jumps) == (0, 1)


def test_a_written_repeat_is_neither_restart_nor_jump():
    score = replace(SCORE, playing_order=(0, 1, 2, 3, 0, 1, 2, 3, 4, 5, 6, 7))
    take = measured(Performance(score).play(0, 16).play(0, 32))
    assert (take.whole.restarts, take.whole.jumps, take.whole.stops) == (0, 0, 0)
    assert take.sections[0].expected == 96
    assert take.sections[0].through_tempo_quarters_per_minute == pytest.approx(120.0)


def test_a_written_repeat_is_none_for_one_hand_alone_that_ends_early_in_the_measure():
    notes = [n for n in SCORE.notes if not (n.staff == 2 and n.note_id[3:] in "123")]
    score = replace(SCORE, notes=tuple(notes), playing_order=(0, 1, 2, 3, 0, 1, 2, 3, 4, 5, 6, 7))
    performance = Performance(score).play(0, 16, hands=Hands.LEFT).pause(1.5)
    take = measured(performance.play(0, 32, hands=Hands.LEFT))
    assert take.whole.restarts == 0


def test_leaving_a_repeat_in_the_middle_of_a_measure_is_a_restart():
    score = replace(SCORE, playing_order=(0, 1, 2, 3, 0, 1, 2, 3, 4, 5, 6, 7))
    take = measured(Performance(score).play(0, 14).play(0, 32))
    assert take.whole.restarts == 1


def test_first_endings_are_not_asked_for():
    score = replace(
        SCORE,
        cues=(
            PrintedCue(kind=CueKind.ENDING, position=Position(3), text="1"),
            PrintedCue(kind=CueKind.ENDING, position=Position(4), text="2"),
            PrintedCue(kind=CueKind.REPEAT_END, position=Position(4)),
        ),
        playing_order=(0, 1, 2, 3, 0, 1, 2, 4, 5, 6, 7),
    )
    whole = map_of(score, 0, 5)
    take = measured(Performance(score).play(0, 12).play(16, 32, began_with=Beginning.JUMP), whole)
    assert take.sections[0].complete
    assert take.sections[0].coverage == 1.0
    assert take.whole.jumps == 0


def test_through_tempo_counts_stops_and_running_tempo_does_not():
    take = measured(Performance(SCORE).play(wait={6.0: 3.0}))
    (row, other) = take.sections
    assert row.running_tempo_quarters_per_minute == pytest.approx(120.0)
    # 15.5 quarters from the first to the last onset of four measures, 7.75 s and the stop
    assert row.through_tempo_quarters_per_minute == pytest.approx(60 * 15.5 / (7.75 + 3.0))
    assert other.through_tempo_quarters_per_minute == pytest.approx(120.0)
    assert row.steadiness == pytest.approx(0.0, abs=1e-9)
    assert row.stops == 1


def test_through_tempo_leaves_out_what_was_played_elsewhere():
    performance = Performance(SCORE).play(0, 8).pause(5)
    performance.play(16, 24, began_with=Beginning.JUMP).pause(5).play(8, 16)
    row = measured(performance).of_section("a")[0]
    assert row.through_tempo_quarters_per_minute == pytest.approx(120.0)


def test_two_tempi_are_told_apart():
    def slower_from_measure_5(quarters):
        return quarters if quarters <= 16 else 16 + 2 * (quarters - 16)

    first, second = measured(Performance(SCORE).play(warp=slower_from_measure_5)).sections
    assert first.running_tempo_quarters_per_minute == pytest.approx(120.0)
    assert second.running_tempo_quarters_per_minute == pytest.approx(60.0)


def test_tempo_without_two_beats_comes_from_the_onsets_there_are():
    offbeat = [note(f"s{k}", 0, Fraction(2 * k + 1, 2), Fraction(1), 60 + k, 1) for k in range(4)]
    score = score_of(offbeat, 1)
    row = measured(Performance(score).play(), map_of(score, 0)).whole
    assert row.running_tempo_quarters_per_minute == pytest.approx(120.0)


def test_velocities_are_told_by_percentile_and_hand():
    take = measured(Performance(SCORE).play(velocity=lambda n: 80 if n.staff == 1 else 50))
    row = take.whole
    assert (row.right_velocity, row.left_velocity, row.hand_balance) == (80.0, 50.0, 30.0)
    assert (row.velocity_p5, row.velocity_p95, row.dynamic_range) == (50.0, 80.0, 30.0)


def test_added_notes_do_not_count_in_the_dynamics():
    row = measured(Performance(SCORE).play(added_after=tuple(f"r1.{k}" for k in range(8)))).whole
    assert row.added == 8
    assert row.velocity_p5 == 64.0  # added notes of the performance are struck with 20


def test_ornaments_count_as_one_note_and_not_as_played():
    row = measured(Performance(SCORE).play(ornament=("r0.2",))).whole
    assert (row.expected, row.right, row.ornament, row.played) == (96, 96, 1, 96)
    assert row.accuracy == 1.0


def test_notes_that_may_be_played_are_not_counted():
    notes = [replace(n, expected=n.note_id != "r0.3") for n in SCORE.notes]
    score = replace(SCORE, notes=tuple(notes))
    played = measured(Performance(score).play()).whole
    left_out = measured(Performance(score).play(miss=("r0.3",))).whole
    assert (played.expected, played.right, played.played) == (95, 95, 95)
    assert (left_out.expected, left_out.right, left_out.missed) == (95, 95, 0)


@pytest.mark.parametrize(
    ("wrong", "errors"),
    [
        (("r0.0",), 1),  # melody at the beginning
        (("l0.0",), 1),  # bass at the beginning
        (("r3.7",), 1),  # the last note, alone: melody and bass in one
        (("l3.3",), 0),  # struck before the last onset
        (("r0.1", "r2.2"), 0),
    ],
)
def test_errors_at_the_edges_are_those_of_the_outer_notes(wrong, errors):
    assert measured(Performance(SCORE).play(wrong=wrong)).sections[0].edge_errors == errors


def test_errors_are_told_measure_by_measure():
    take = measured(
        Performance(SCORE).play(0, 16, miss=("r0.3",), wrong=("l2.1",), added_after=("r3.2",))
    )
    told = {m.measure_index: (m.wrong, m.missed, m.added) for m in take.measures}
    assert told == {0: (0, 1, 0), 1: (0, 0, 0), 2: (1, 0, 0), 3: (0, 0, 1)}
    assert all(m.plays == 1 and m.expected == 12 for m in take.measures)


def test_measures_add_up_to_the_whole_take():
    take = measured(Performance(SCORE).play(0, 24, miss=("r0.3",)).play(16, 32, wrong=("r4.1",)))
    for name in ("expected", "right", "wrong", "missed", "added"):
        assert sum(getattr(m, name) for m in take.measures) == getattr(take.whole, name)
    assert [m.plays for m in take.measures] == [1, 1, 1, 1, 2, 2, 1, 1]


def test_pedal_share_is_that_of_the_section():
    pedals = (PedalChange(0.0, 64, 127), PedalChange(4.0, 64, 0), PedalChange(1.0, 67, 127))
    row = measured(Performance(SCORE).play(), pedals=pedals).sections[0]
    assert row.damper_share == pytest.approx(4.0 / 7.75)
    assert measured(Performance(SCORE).play()).whole.damper_share is None


def test_an_empty_match_gives_an_empty_whole():
    take = measure_take(SCORE, MAP, (), Match(notes=(), missed=(), passages=()))
    assert take.sections == take.passages == take.measures == take.interruptions == ()
    assert (take.whole.expected, take.whole.accuracy) == (0, None)
    assert take.whole.running_tempo_quarters_per_minute is None


def test_an_empty_map_still_measures_the_whole():
    take = measured(Performance(SCORE).play(), SectionMap(sections=()))
    assert take.whole.accuracy == 1.0
    assert take.sections == ()


def test_the_index_is_found_by_note_id_when_the_matcher_had_another_list():
    heard, match = Performance(SCORE).play().finished()
    shifted = replace(match, notes=tuple(replace(n, score_index=0) for n in match.notes))
    assert measure_take(SCORE, MAP, heard, shifted) == measure_take(SCORE, MAP, heard, match)


def test_a_given_index_changes_nothing():
    heard, match = Performance(SCORE).play(miss=("r0.3",)).finished()
    index = index_score(SCORE)
    assert measure_take(SCORE, MAP, heard, match, index=index) == measure_take(
        SCORE, MAP, heard, match
    )


def test_the_tempo_curve_names_places_and_tempi():
    take = measured(Performance(SCORE).play(0, 8))
    assert [p.onset_quarters for p in take.tempo] == [Fraction(k) for k in range(7)]
    assert take.tempo[5].position == Position(1, Fraction(1))
    assert all(p.quarters_per_minute == pytest.approx(120.0) for p in take.tempo)


def test_written_tempo_changes_are_no_hesitations():
    marks = (
        TempoMark(position=Position(0), text="Quick", quarters_per_minute=180.0),
        TempoMark(position=Position(4), text="Slow", quarters_per_minute=60.0),
    )
    score = replace(SCORE, tempo_marks=marks)

    def three_times_slower(quarters):
        return quarters if quarters <= 16 else 16 + 3 * (quarters - 16)

    take = measured(Performance(score, quarter_seconds=1 / 3).play(warp=three_times_slower))
    assert (take.whole.hesitations, take.whole.stops) == (0, 0)
    assert take.whole.steadiness == pytest.approx(0.0, abs=1e-9)
    unmarked = measured(Performance(SCORE, quarter_seconds=1 / 3).play(warp=three_times_slower))
    assert unmarked.whole.hesitations > 0


def test_the_order_in_which_notes_are_given_does_not_matter():
    performance = Performance(SCORE)
    performance.play(velocity=lambda n: 30 + n.pitch // 2, shift=lambda n: n.pitch / 10_000)
    heard, match = performance.finished()
    assert measure_take(SCORE, MAP, heard[::-1], match) == measure_take(SCORE, MAP, heard, match)
