"""The plan of a day; situations are demo data, the rules have their sources in the code."""

from dataclasses import replace
from itertools import pairwise

import pytest

from companion.analysis.tasks.model import TaskKind
from companion.history.knowing.retention import Estimate
from companion.history.planning.beginnings import may_begin
from companion.history.planning.day import plan_day
from companion.history.planning.model import Activity, DayKind, PlaceKind
from companion.history.planning.situation import Availability, JoinStanding, PlannedTask
from companion.history.planning.work import need_of
from companion.score.model import Hand
from tests.unit.history.planning.planning_examples import (
    TODAY,
    a_section,
    a_situation,
    begun,
    days,
    known,
    settling,
    under_tempo,
)


def activities(plan):
    return [turn.activity for turn in plan.turns]


def of(plan, activity):
    return [turn for turn in plan.turns if turn.activity is activity]


def test_a_new_piece_begins_with_its_hardest_section_hands_separately():
    plan = plan_day(a_situation(a_section("A", 3), a_section("B", 1), a_section("C", 2)))
    assert plan.kind is DayKind.LEARNING
    assert plan.turns[0].place.name == "B"
    assert plan.turns[0].activity is Activity.HANDS_SEPARATELY


def test_only_a_few_sections_are_begun_at_a_time():
    many = [a_section(name, rank) for rank, name in enumerate("ABCDEFGHIJ", 1)]
    touched = {
        name for turn in plan_day(a_situation(*many)).turns for name in turn.place.section_ids
    }
    assert touched == {"a", "b"}


def test_what_is_due_comes_first_and_the_hardest_of_it_before_the_rest():
    plan = plan_day(
        a_situation(known("A", 2, due=days(-2)), settling("B", 1), known("C", 3), begun("D", 4))
    )
    assert [turn.place.name for turn in plan.turns[:3]] == ["B", "A", "D"]
    assert activities(plan)[:4].count(Activity.COLD_TAKE) == 3


def test_a_section_begun_yesterday_is_tried_cold_today():
    plan = plan_day(a_situation(begun("A", 1), a_section("B", 2)))
    assert plan.turns[0].activity is Activity.COLD_TAKE
    assert plan.turns[0].place.section_ids == ("a",)


def test_when_too_much_is_due_it_is_played_in_one_go():
    many = [known(name, rank, due=days(0)) for rank, name in enumerate("ABCDEFGHIJ", 1)]
    plan = plan_day(a_situation(*many, minutes=12, last_run_through=days(-1)))
    cold = of(plan, Activity.COLD_TAKE)
    assert len(cold) == 1
    assert cold[0].place.section_ids == tuple("abcdefghij")


def test_turns_of_few_minutes_rotate_once_the_notes_are_learnt():
    plan = plan_day(
        a_situation(
            under_tempo("A", 1, due=days(1)),
            under_tempo("B", 2, due=days(1)),
            under_tempo("C", 3, due=days(1)),
        )
    )
    work = [turn for turn in plan.turns if turn.place.kind is PlaceKind.SECTION]
    work = [turn for turn in work if turn.activity.at_keyboard and turn.minutes > 1]
    assert all(3 <= turn.minutes <= 6 for turn in work)
    names = [turn.place.name for turn in work]
    assert len(names) >= 6
    assert all(one != other for one, other in pairwise(names))


def test_the_metronome_stands_one_mark_above_what_was_reached():
    plan = plan_day(a_situation(under_tempo("A", 1), a_section("B", 2)))
    ladder = of(plan, Activity.UNDER_TEMPO)[0]
    assert ladder.beats_per_minute == 69  # 0.7 of 96 is 67.2; marks there: 66, 69
    assert "69" in ladder.why


def test_a_probe_at_full_tempo_comes_between_slow_turns():
    plan = plan_day(a_situation(under_tempo("A", 1), minutes=40))
    mine = [
        t.activity for t in plan.turns if t.activity in (Activity.UNDER_TEMPO, Activity.UP_TO_TEMPO)
    ]
    assert {Activity.UNDER_TEMPO, Activity.UP_TO_TEMPO} <= set(mine)


def test_runs_are_practised_in_groups_and_leaps_in_their_hand():
    tasks = (
        PlannedTask(task_id="r", name="Run", kind=TaskKind.RUN),
        PlannedTask(task_id="l", name="Leaps", kind=TaskKind.LEAPS, hand=Hand.LEFT),
    )
    plan = plan_day(a_situation(begun("A", 1, tasks=tasks), minutes=60))
    by_task = {turn.place.task_id: turn for turn in plan.turns if turn.place.task_id}
    assert by_task["r"].activity is Activity.GROUPS_AND_RHYTHMS
    assert by_task["l"].activity is Activity.HANDS_SEPARATELY
    assert by_task["l"].hand is Hand.LEFT


def test_joins_wait_until_the_middle_of_the_schedule():
    sections = [settling(name, rank) for rank, name in enumerate("ABCD", 1)]
    early = plan_day(a_situation(*sections, performance=days(40)))
    late = plan_day(
        a_situation(*sections, first_day=days(-30), performance=days(20), last_run_through=days(-1))
    )
    assert not of(early, Activity.JOIN)
    assert of(late, Activity.JOIN)


def test_the_border_played_longest_ago_is_joined_first():
    sections = [settling(name, rank) for rank, name in enumerate("ABCD", 1)]
    joins = (
        JoinStanding(first_id="a", second_id="b", last_played=days(-1)),
        JoinStanding(first_id="b", second_id="c", last_played=days(-5)),
        JoinStanding(first_id="c", second_id="d", last_played=days(-3)),
    )
    plan = plan_day(a_situation(*sections, joins=joins, last_run_through=days(-1), minutes=20))
    assert of(plan, Activity.JOIN)[0].place.section_ids == ("b", "c")


def test_towards_the_run_throughs_joined_stretches_grow():
    sections = [settling(name, rank) for rank, name in enumerate("ABCDEFGH", 1)]

    def longest(gone):
        plan = plan_day(
            a_situation(
                *sections,
                first_day=days(-gone),
                performance=days(60 - gone),
                last_run_through=days(-1),
            )
        )
        return max(len(turn.place.section_ids) for turn in of(plan, Activity.JOIN))

    assert longest(27) == 2
    assert 2 < longest(31) < 8
    assert longest(50) == 8


def test_the_last_days_begin_with_a_run_through_and_take_in_nothing_new():
    sections = [settling("A", 2), under_tempo("B", 1), known("C", 3)]
    plan = plan_day(a_situation(*sections, first_day=days(-30), performance=days(3)))
    assert plan.kind is DayKind.FINAL
    assert plan.turns[0].activity is Activity.RUN_THROUGH
    untouched = plan_day(
        a_situation(*sections, a_section("D", 4), first_day=days(-30), performance=days(3))
    )
    assert all("d" not in turn.place.section_ids for turn in untouched.turns)


def test_the_day_before_is_light():
    plan = plan_day(
        a_situation(settling("A", 1), known("B", 2), performance=days(1), first_day=days(-30))
    )
    assert plan.kind is DayKind.DAY_BEFORE
    assert plan.minutes <= 45 / 2
    assert activities(plan)[0] is Activity.RUN_THROUGH
    assert Activity.UNDER_TEMPO not in activities(plan)


def test_on_the_day_itself_there_is_only_a_warming_up():
    plan = plan_day(a_situation(settling("A", 1), known("B", 2), performance=TODAY))
    assert plan.kind is DayKind.PERFORMANCE
    assert activities(plan) == [Activity.STARTS]
    assert plan.minutes <= 15


def test_what_was_learnt_today_is_played_once_more_at_the_end():
    plan = plan_day(a_situation(a_section("A", 1), a_section("B", 2), known("C", 3)))
    assert plan.turns[-1].activity is Activity.REPLAY
    assert plan.turns[-1].place.section_ids == ("a", "b")


def test_a_day_off_and_a_day_with_discomfort_have_no_turns():
    off = a_situation(
        a_section("A", 1),
        availability=Availability(days_off=frozenset({TODAY})),
    )
    assert plan_day(off).kind is DayKind.OFF
    assert plan_day(off).turns == ()
    stopped = plan_day(a_situation(a_section("A", 1), discomfort=True))
    assert stopped.kind is DayKind.STOPPED
    assert stopped.turns == ()


def test_work_away_from_the_keyboard_stays_a_small_share():
    plan = plan_day(a_situation(begun("A", 1), a_section("B", 2), minutes=90))
    away = [turn for turn in plan.turns if not turn.activity.at_keyboard]
    assert away
    assert sum(turn.minutes for turn in away) <= 0.15 * 90


def test_what_was_left_out_yesterday_is_there_today():
    """The plan is made from how things stand, not from an earlier plan."""
    sections = (under_tempo("A", 1, due=days(0)), a_section("B", 2))
    today = plan_day(a_situation(*sections))
    skipped = plan_day(a_situation(*sections, today=days(1)))
    assert skipped.turns[0].place == today.turns[0].place


def test_when_time_runs_short_an_untouched_section_comes_in_although_others_are_not_ready():
    sections = [begun(name, rank) for rank, name in enumerate("ABC", 1)]
    waiting = [a_section(name, rank) for rank, name in enumerate("DEF", 4)]
    calm = plan_day(a_situation(*sections, *waiting, performance=days(60)))
    short = plan_day(a_situation(*sections, *waiting, first_day=days(-10), performance=days(7)))
    assert all("d" not in turn.place.section_ids for turn in calm.turns)
    assert any("d" in turn.place.section_ids for turn in short.turns)


def test_turns_go_where_first_tries_fail_and_where_it_is_hard():
    def sure(probability):
        return Estimate(probability=probability, low=0.0, high=1.0, count=5)

    base = settling("A", 2, retention=sure(0.6))
    assert need_of(replace(base, retention=sure(0.3)), 4) > need_of(base, 4)
    assert need_of(replace(base, rank=1), 4) > need_of(base, 4)
    assert need_of(replace(base, hours=4.0), 4) > need_of(base, 4)
    assert need_of(known("A", 2, retention=sure(0.6)), 4) < need_of(base, 4)


def test_every_turn_says_why_in_one_line():
    plan = plan_day(
        a_situation(
            begun("A", 1),
            under_tempo("B", 2),
            settling("C", 3),
            known("D", 4),
            from_memory=True,
            minutes=90,
        )
    )
    assert all(turn.why and "\n" not in turn.why and len(turn.why) < 100 for turn in plan.turns)
    assert len({turn.turn_id for turn in plan.turns}) == len(plan.turns)


def test_a_week_has_seven_days():
    with pytest.raises(ValueError, match="seven"):
        Availability(minutes_by_weekday=(30,))


def test_an_easier_section_waits_until_its_time_has_come():
    learnt = [begun("A", 1), under_tempo("B", 2)]
    waiting = [a_section("C", 3), a_section("D", 4)]

    def touched(gone):
        plan = plan_day(
            a_situation(
                *learnt, *waiting, first_day=days(-gone), performance=days(60 - gone), minutes=45
            )
        )
        return {name for turn in plan.turns for name in turn.place.section_ids}

    assert not touched(5) & {"c", "d"}
    assert touched(26) & {"c", "d"} == {"c"}


def test_a_day_is_not_left_empty_because_easier_sections_wait():
    sections = [known("A", 1), a_section("B", 2), a_section("C", 3)]
    plan = plan_day(a_situation(*sections, first_day=days(-1), performance=days(60)))
    assert "b" in {name for turn in plan.turns for name in turn.place.section_ids}


def test_without_a_date_nothing_waits_for_its_time():
    assert may_begin(a_situation(known("A", 1), a_section("B", 2)), a_section("B", 2))


def test_what_is_known_and_not_due_rests():
    others = [under_tempo(name, rank) for rank, name in enumerate("BCD", 2)]

    def turns_with_a(**changes):
        plan = plan_day(a_situation(known("A", 1, **changes), *others, performance=days(60)))
        return [turn for turn in plan.turns if "a" in turn.place.section_ids]

    assert not turns_with_a(due=days(2))
    assert turns_with_a(due=days(0))


def test_the_hardest_that_can_be_played_through_go_round_at_the_end():
    sections = [settling(name, rank) for rank, name in ((4, "A"), (1, "B"), (3, "C"), (2, "D"))]
    plan = plan_day(a_situation(*sections, performance=days(40)))
    (turn,) = of(plan, Activity.ROUND)
    assert plan.turns[-1] is turn
    assert turn.place.section_ids == ("b", "c", "d")  # in the order of the piece
    assert not of(plan_day(a_situation(begun("A", 1), begun("B", 2))), Activity.ROUND)


def test_when_everything_is_learnt_a_long_stretch_fills_its_share_of_the_day():
    sections = [settling(name, rank) for rank, name in enumerate("ABCDEF", 1)]
    plan = plan_day(
        a_situation(*sections, first_day=days(-45), performance=days(15), last_run_through=days(-1))
    )
    stretch = max(of(plan, Activity.JOIN), key=lambda turn: len(turn.place.section_ids))
    assert stretch.place.section_ids == tuple("abcdef")
    once_minutes = 6 * 25.0 / 60.0
    assert 3 * once_minutes < stretch.minutes <= 45 / 2


def test_in_a_long_piece_the_next_sections_come_sooner():
    def waits_days(count):
        sections = [under_tempo(f"S{rank}", rank) for rank in range(1, count)]
        last = a_section("Last", count)
        return next(
            gone
            for gone in range(60)
            if may_begin(
                a_situation(*sections, last, first_day=days(-gone), performance=days(60 - gone)),
                last,
            )
        )

    assert waits_days(24) < waits_days(8) < 53
