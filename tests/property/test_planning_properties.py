"""What holds for the plan of any day."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from companion.history.knowing.known import State
from companion.history.planning.cold import is_due
from companion.history.planning.day import plan_day
from companion.history.planning.model import Activity, DayKind
from companion.history.planning.situation import Availability, PlannedSection, Situation
from companion.history.planning.stages import Stage, stage_of
from companion.history.planning.ticking import Done, DoneKind, DonePart, ticked, what_is_left
from tests.unit.history.planning.planning_examples import TODAY


@st.composite
def sections(draw, number):
    begun = draw(st.booleans())
    name = f"s{number}"
    if not begun:
        return PlannedSection(section_id=name, name=name, rank=0, hours=draw(st.floats(0.3, 6)))
    cold = tuple(draw(st.lists(st.booleans(), max_size=5)))
    return PlannedSection(
        section_id=name,
        name=name,
        rank=0,
        hours=draw(st.floats(0.3, 6)),
        playing_seconds=draw(st.floats(3, 200)),
        state=draw(st.sampled_from([State.LEARNING, State.KNOWN, State.LAPSED])),
        recent_clean=cold,
        clean_days=min(sum(cold), 3),
        due=TODAY + timedelta(days=draw(st.integers(-5, 7))) if cold else None,
        last_played=TODAY - timedelta(days=draw(st.integers(1, 9))),
        practised_minutes=draw(st.floats(0, 300)),
        complete=draw(st.booleans()),
        errors_per_100=draw(st.none() | st.floats(0, 30)),
        tempo_share=draw(st.none() | st.floats(0.2, 1.2)),
        target_beats_per_minute=draw(st.none() | st.floats(30, 220)),
    )


@st.composite
def situations(draw):
    count = draw(st.integers(0, 14))
    found = [draw(sections(number)) for number in range(count)]
    ranks = draw(st.permutations(range(1, count + 1)))
    ahead = draw(st.none() | st.integers(-3, 60))
    return Situation(
        today=TODAY,
        sections=tuple(replace(s, rank=rank) for s, rank in zip(found, ranks, strict=True)),
        availability=Availability(
            minutes_by_weekday=(draw(st.integers(0, 240)),) * 7,
            days_off=frozenset({TODAY}) if draw(st.integers(0, 9)) == 0 else frozenset(),
        ),
        performance=None if ahead is None else TODAY + timedelta(days=ahead),
        first_day=TODAY - timedelta(days=draw(st.integers(0, 60))),
        last_run_through=TODAY - timedelta(days=3) if draw(st.booleans()) else None,
        from_memory=draw(st.booleans()),
        discomfort=draw(st.integers(0, 9)) == 0,
    )


@given(situations())
def test_turns_never_take_more_than_the_day_has(situation):
    plan = plan_day(situation)
    assert plan.minutes <= situation.availability.minutes_on(TODAY)
    assert all(turn.minutes >= 1 for turn in plan.turns)
    assert len({turn.turn_id for turn in plan.turns}) == len(plan.turns)


@given(situations())
def test_the_same_situation_gives_the_same_plan(situation):
    assert plan_day(situation) == plan_day(replace(situation))


@given(situations())
def test_days_off_and_discomfort_leave_nothing_to_do(situation):
    if situation.discomfort or TODAY in situation.availability.days_off:
        assert plan_day(situation).turns == ()


@given(situations())
def test_every_section_that_is_due_has_its_cold_take_before_anything_else(situation):
    plan = plan_day(situation)
    if plan.kind in (DayKind.OFF, DayKind.STOPPED, DayKind.PERFORMANCE):
        return
    due = {s.section_id for s in situation.sections if is_due(s, TODAY)}
    seen_cold: set[str] = set()
    for turn in plan.turns:
        if turn.activity.cold:
            seen_cold.update(turn.place.section_ids)
        elif turn.activity.at_keyboard:
            break
    assert due <= seen_cold
    later = [turn for turn in plan.turns if turn.activity.cold and not turn.place.section_ids]
    assert later == []


@given(situations())
def test_the_hardest_section_that_is_not_up_to_tempo_is_worked_on_first(situation):
    plan = plan_day(situation)
    if plan.kind not in (DayKind.LEARNING, DayKind.JOINING):
        return
    work = [
        turn
        for turn in plan.turns
        if turn.activity.at_keyboard
        and not turn.activity.cold
        and turn.activity is not Activity.JOIN
    ]
    learning = [s for s in situation.hardest_first if stage_of(s) < Stage.SETTLING]
    if work and learning:
        assert work[0].place.section_ids == (learning[0].section_id,)


@given(situations(), st.lists(st.tuples(st.integers(0, 13), st.integers(1, 600)), max_size=12))
def test_nothing_is_ticked_off_by_itself_and_what_is_left_fits_the_time(situation, played):
    plan = plan_day(situation)
    assert not any(turn.done for turn in ticked(plan, ()).turns)
    takes = [
        Done(
            done_id=f"take {number}",
            at=datetime(2026, 3, 2, 17, tzinfo=UTC) + timedelta(minutes=11 * number),
            kind=DoneKind.PLAYED,
            parts=(DonePart(section_id=f"s{section}", seconds=float(seconds)),),
        )
        for number, (section, seconds) in enumerate(played)
    ]
    found = ticked(plan, takes)
    for turn in found.turns:
        assert not turn.done or turn.done_ids
    for minutes in (0, 7, 30):
        assert sum(turn.minutes for turn in what_is_left(found, minutes)) <= minutes
    more = ticked(plan, takes[:-1])
    assert sum(turn.done for turn in more.turns) <= sum(turn.done for turn in found.turns)


@given(situations())
def test_little_is_done_away_from_the_keyboard(situation):
    plan = plan_day(situation)
    if plan.kind is not DayKind.DAY_BEFORE:
        assert plan.minutes - plan.playing_minutes <= 0.15 * plan.minutes_available
