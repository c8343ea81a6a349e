"""What of a plan is done; demo data."""

from datetime import UTC, datetime, timedelta

from companion.history.planning.day import plan_day
from companion.history.planning.model import (
    Activity,
    DayKind,
    DayPlan,
    Place,
    PlaceKind,
    PlannedTurn,
)
from companion.history.planning.ticking import Done, DoneKind, DonePart, ticked, what_is_left
from companion.listening.notes import Hands
from tests.unit.history.planning.planning_examples import (
    TODAY,
    a_section,
    a_situation,
    days,
    known,
    settling,
)

BEGIN = datetime(2026, 3, 2, 17, 0, tzinfo=UTC)


def a_turn(activity, *section_ids, minutes=4, **changes):
    kind = PlaceKind.SECTION if len(section_ids) == 1 else PlaceKind.SECTIONS
    return PlannedTurn(
        turn_id=f"{activity}/{'+'.join(section_ids)}",
        activity=activity,
        place=Place(kind=kind, section_ids=section_ids, name="/".join(section_ids)),
        minutes=minutes,
        why="demo",
        **changes,
    )


def a_plan(*turns):
    return DayPlan(
        day=TODAY, kind=DayKind.LEARNING, minutes_available=60, headline="demo", turns=turns
    )


def take(number, *names, seconds=30.0, hands=Hands.BOTH, from_memory=False, **part):
    return Done(
        done_id=f"take {number}",
        at=BEGIN + timedelta(minutes=number),
        kind=DoneKind.PLAYED,
        hands=hands,
        from_memory=from_memory,
        parts=tuple(DonePart(section_id=name, seconds=seconds, **part) for name in names),
    )


def done_of(found):
    return [each.done for each in found.turns]


def test_nothing_is_done_before_anything_was_played():
    found = ticked(a_plan(a_turn(Activity.COLD_TAKE, "a")), ())
    assert done_of(found) == [False]
    assert found.next_turn is not None


def test_the_first_take_of_the_day_is_the_cold_one():
    plan = a_plan(a_turn(Activity.COLD_TAKE, "a"), a_turn(Activity.STARTS, "a"))
    assert done_of(ticked(plan, [take(1, "a")])) == [True, False]


def test_a_section_that_was_practised_before_can_have_no_cold_take_that_day():
    plan = a_plan(a_turn(Activity.HANDS_SEPARATELY, "a"), a_turn(Activity.COLD_TAKE, "a"))
    found = ticked(plan, [take(1, "a", hands=Hands.LEFT), take(2, "a")])
    assert done_of(found) == [False, False]
    assert [each.too_late for each in found.turns] == [False, True]
    assert found.minutes_left == plan.turns[0].minutes


def test_what_is_too_late_today_does_not_stand_in_the_way_of_the_next_turn():
    plan = a_plan(a_turn(Activity.COLD_TAKE, "a"), a_turn(Activity.COLD_TAKE, "b"))
    found = ticked(plan, [take(1, "a", complete=False, coverage=0.3)])
    assert found.next_turn == plan.turns[1]


def test_a_first_try_that_broke_off_was_the_first_try():
    plan = a_plan(a_turn(Activity.COLD_TAKE, "a"))
    broken_off = take(1, "a", complete=False, coverage=0.1, began_again=True)
    assert done_of(ticked(plan, [broken_off])) == [True]


def test_other_turns_are_done_after_half_of_their_minutes_of_playing():
    plan = a_plan(a_turn(Activity.STARTS, "a", minutes=4))
    assert done_of(ticked(plan, [take(n, "a", seconds=39) for n in range(3)])) == [False]
    assert done_of(ticked(plan, [take(n, "a", seconds=40) for n in range(3)])) == [True]


def test_hands_separately_wants_one_hand_and_up_to_tempo_the_tempo():
    plan = a_plan(
        a_turn(Activity.HANDS_SEPARATELY, "a", minutes=1),
        a_turn(Activity.UP_TO_TEMPO, "a", minutes=1),
    )
    slow = take(1, "a", tempo_share=0.6)
    assert done_of(ticked(plan, [slow])) == [False, False]
    assert ticked(plan, [slow]).beyond_seconds == 30.0
    fast = take(2, "a", tempo_share=0.95)
    assert done_of(ticked(plan, [slow, fast, take(3, "a", hands=Hands.RIGHT)])) == [True, True]


def test_a_join_is_done_by_playing_from_the_one_into_the_other():
    join = a_turn(Activity.JOIN, "a", "b")
    assert done_of(ticked(a_plan(join), [take(1, "a"), take(2, "b")])) == [False]
    assert done_of(ticked(a_plan(join), [take(1, "a", "b")])) == [True]


def test_a_run_through_is_the_cold_take_of_all_sections():
    plan = a_plan(
        a_turn(Activity.RUN_THROUGH, "a", "b", "c"),
        a_turn(Activity.COLD_TAKE, "a"),
        a_turn(Activity.COLD_TAKE, "c"),
    )
    assert done_of(ticked(plan, [take(1, "a", "b", "c")])) == [True, True, True]
    assert done_of(ticked(plan, [take(1, "a", "b")])) == [False, True, False]


def test_cold_takes_in_one_go_may_be_several_takes():
    plan = a_plan(a_turn(Activity.COLD_TAKE, "a", "b"))
    assert done_of(ticked(plan, [take(1, "a")])) == [False]
    assert done_of(ticked(plan, [take(1, "a"), take(2, "b")])) == [True]


def test_a_turn_from_memory_is_done_by_takes_from_memory_alone():
    plan = a_plan(a_turn(Activity.FROM_MEMORY, "a", minutes=2))
    assert done_of(ticked(plan, [take(1, "a", seconds=300)])) == [False]
    assert done_of(ticked(plan, [take(1, "a", seconds=300, from_memory=True)])) == [True]
    apart = take(1, "a", seconds=300, hands=Hands.LEFT, from_memory=True)
    assert done_of(ticked(plan, [apart])) == [False]


def test_a_take_from_memory_does_for_any_other_turn_as_well():
    plan = a_plan(
        a_turn(Activity.UP_TO_TEMPO, "a", minutes=2), a_turn(Activity.JOIN, "a", "b", minutes=2)
    )
    for by_heart in (False, True):
        takes = [take(1, "a", seconds=90, from_memory=by_heart)]
        assert done_of(ticked(plan, takes)) == [True, False]
        takes.append(take(2, "a", "b", from_memory=by_heart))
        assert done_of(ticked(plan, takes)) == [True, True]


def test_a_round_is_done_by_any_of_its_sections_with_both_hands():
    plan = a_plan(a_turn(Activity.ROUND, "a", "b", minutes=2))
    assert done_of(ticked(plan, [take(1, "a"), take(2, "b")])) == [True]
    apart = [take(1, "a", hands=Hands.LEFT), take(2, "b", hands=Hands.LEFT)]
    assert done_of(ticked(plan, apart)) == [False]
    assert done_of(ticked(plan, [take(1, "c"), take(2, "c")])) == [False]


def test_reciting_and_conducting_tick_their_own_turns():
    plan = a_plan(a_turn(Activity.RECITE, "a", minutes=2), a_turn(Activity.CONDUCT, "a", minutes=2))
    recited = Done(
        done_id="r",
        at=BEGIN,
        kind=DoneKind.RECITED,
        parts=(DonePart(section_id="a", seconds=80.0),),
    )
    assert done_of(ticked(plan, [recited, take(1, "a", seconds=300)])) == [True, False]


def test_the_order_in_which_takes_are_handed_in_makes_no_difference():
    plan = plan_day(a_situation(a_section("A", 1), settling("B", 2), known("C", 3, due=days(0))))
    takes = [take(1, "b"), take(2, "c"), take(3, "a", hands=Hands.LEFT, seconds=400), take(4, "b")]
    assert ticked(plan, takes) == ticked(plan, takes[::-1])


def test_with_little_time_left_the_replay_keeps_its_place():
    plan = a_plan(
        a_turn(Activity.UNDER_TEMPO, "a", minutes=5),
        a_turn(Activity.STARTS, "b", minutes=3),
        a_turn(Activity.REPLAY, "a", minutes=1),
    )
    left = what_is_left(ticked(plan, ()), 5)
    assert [turn.activity for turn in left] == [Activity.STARTS, Activity.REPLAY]
    assert sum(turn.minutes for turn in what_is_left(ticked(plan, ()), 0)) == 0
