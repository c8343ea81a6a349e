"""The days until the performance: what each is for, where sections will stand, whether it fits.

The projection plans each day as :func:`companion.history.planning.day.plan_day` does and lets the
sections move on by the minutes they were given: through their stages by the estimated hours, then
by a clean cold take on each day on which they are due. It is what happens *if all goes as
estimated*; the plan of each day is made anew from what really was heard.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

from companion.history.knowing.known import State
from companion.history.planning.day import plan_day
from companion.history.planning.model import Activity, DayKind, DayPlan
from companion.history.planning.phases import final_phase_begins
from companion.history.planning.situation import (
    JoinStanding,
    PlannedSection,
    Situation,
)
from companion.history.planning.stages import Stage, hours_left, stage_of
from companion.history.planning.words import hours_in_words, joined

DAYS_WITHOUT_DATE = 28
"""How far the calendar reaches without a performance (project convention)."""

_DAYS_TO_KNOW = 3
_WAITS_DAYS = (1, 2, 4, 7)
"""Waits after the first, second, ... clean cold take, as the scheduler gives them with a cap."""

_UPKEEP_SHARE = 0.25
"""Share of the time until the date that returns, joins and run-throughs take (own estimate)."""

_STAGE_SHARES = ((Stage.NOTES, 0.0), (Stage.TEMPO, 0.4), (Stage.SETTLING, 0.75))
"""Share of the hours of a section from which it is in a stage (project convention)."""

MOST_LEFT_OUT_SHARE = 1 / 3
"""Nobody is told to leave out more of a piece than this."""

_MOST_NAMED = 3

_SOONER = (
    "To be known takes clean first tries on several days: "
    "more time in the first days would let the last sections begin sooner."
)

_MANY_DAYS = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class ProjectedSection:
    """Where a section will stand in the evening of a day."""

    section_id: str
    stage: Stage
    state: State


@dataclass(frozen=True, slots=True, kw_only=True)
class ProjectedDay:
    """One day of the calendar.

    Parameters
    ----------
    minutes
        Planned; 0 on a day off.
    main
        What most of the day is for, in a few words.
    begins, known
        Ids of the sections that are begun on it, and that become known.
    """

    day: date
    kind: DayKind
    minutes: int
    main: str
    sections: tuple[ProjectedSection, ...]
    begins: tuple[str, ...] = ()
    known: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionDates:
    """When a section will be begun and known; None where that lies behind the date."""

    section_id: str
    name: str
    begins: date | None
    known: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """The days from today to the performance.

    Parameters
    ----------
    hours_needed
        Work that is left.
    hours_there
        Time there is for it: what joins, returns and run-throughs take is left out. None without a
        performance ahead.
    feasible
        Whether the work fits; True without a performance.
    not_known
        Names of the sections that are not known on the day of the performance although the work
        fits, in the order of the piece: nobody knows a section in fewer days than clean first
        tries need. Empty without a performance.
    says
        The same in one plain sentence.
    changes
        What would help when it does not fit, or not all is known, each a plain sentence.
    """

    days: tuple[ProjectedDay, ...]
    sections: tuple[SectionDates, ...]
    hours_needed: float
    hours_there: float | None
    feasible: bool
    says: str
    not_known: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()


def schedule(situation: Situation) -> Schedule:
    """Return the days until the performance, or the next four weeks without one."""
    last = situation.ahead or situation.today + timedelta(days=DAYS_WITHOUT_DATE)
    count = min((last - situation.today).days + 1, _MANY_DAYS)
    projection = _Projection(situation)
    days = tuple(projection.next_day() for _ in range(count))
    needed = sum(hours_left(section) for section in situation.sections)
    there = _hours_there(situation)
    dates = _dates(situation, days)
    feasible = there is None or needed <= there
    not_known: tuple[str, ...] = ()
    if feasible and situation.ahead is not None:
        not_known = tuple(each.name for each in dates if each.known is None)
    changes: tuple[str, ...] = ()
    if there is not None and not feasible:
        changes = _changes(situation, needed, there)
    elif not_known:
        changes = (_SOONER,)
    return Schedule(
        days=days,
        sections=dates,
        hours_needed=needed,
        hours_there=there,
        feasible=feasible,
        says=_says(situation, needed, there, not_known),
        not_known=not_known,
        changes=changes,
    )


def _hours_there(situation: Situation) -> float | None:
    final = final_phase_begins(situation)
    if final is None:
        return None
    minutes = situation.availability.minutes_between(situation.today, final)
    return (1.0 - _UPKEEP_SHARE) * minutes / 60.0


def _says(
    situation: Situation, needed: float, there: float | None, not_known: tuple[str, ...]
) -> str:
    if not situation.sections:
        return "The piece has no sections yet."
    if needed == 0:
        return "Everything is known: what is left is to keep it."
    work = f"{hours_in_words(needed)} of work"
    if there is None:
        return f"About {work} until everything is known."
    if needed <= there:
        fits = f"About {work}, {hours_in_words(there)} for it before the run-throughs: it fits"
        if not not_known:
            return f"{fits}."
        return f"{fits}, but {_which(not_known, len(situation.sections))} not known by the day."
    left = hours_in_words(there) if there > 0 else "no time"
    return f"About {work}, {left} left for it before the run-throughs: it does not fit."


def _which(names: tuple[str, ...], section_count: int) -> str:
    if len(names) == section_count:
        return "the sections are" if section_count > 1 else f"{names[0]} is"
    if len(names) > _MOST_NAMED:
        return f"{len(names)} of {section_count} sections are"
    return f"{joined(list(names))} {'is' if len(names) == 1 else 'are'}"


def _changes(situation: Situation, needed: float, there: float) -> tuple[str, ...]:
    final = final_phase_begins(situation)
    assert final is not None
    span = (final - situation.today).days
    days = [situation.today + timedelta(days=number) for number in range(span)]
    working = [day for day in days if situation.availability.minutes_on(day)]
    missing = 60.0 * (needed - there) / (1.0 - _UPKEEP_SHARE)
    said = []
    if working:
        more = missing / len(working)
        rounded = int(-(-more // 5) * 5)
        if rounded <= 60:
            said.append(
                f"{rounded} minutes more on each day would be enough; let them grow slowly."
            )
    free = len(days) - len(working)
    if free > 1 and working:
        each = sum(situation.availability.minutes_on(day) for day in working) / len(working)
        if free * each >= missing:
            said.append(f"So would practice on {int(-(-missing // each))} of the {free} days off.")
    new = [s for s in situation.hardest_first if stage_of(s) is Stage.NEW]
    kept: list[str] = []
    rest = needed - there
    for section in reversed(new):
        if rest <= 0:
            break
        kept.append(section.name)
        rest -= hours_left(section)
    if kept and rest <= 0 and len(kept) <= MOST_LEFT_OUT_SHARE * len(situation.sections):
        said.append(f"Or leave out {joined(kept)}, if the piece can be played without.")
    said.append("Or speak with your teacher about a later date, or a slower tempo.")
    return tuple(said)


def _dates(situation: Situation, days: tuple[ProjectedDay, ...]) -> tuple[SectionDates, ...]:
    begins = {name: day.day for day in reversed(days) for name in day.begins}
    known = {name: day.day for day in reversed(days) for name in day.known}
    return tuple(
        SectionDates(
            section_id=section.section_id,
            name=section.name,
            begins=section.last_played or begins.get(section.section_id),
            known=section.known_since or known.get(section.section_id),
        )
        for section in situation.sections
    )


class _Projection:
    """The sections as they move on from day to day if all goes as estimated."""

    def __init__(self, situation: Situation) -> None:
        self._situation = situation
        self._spent = {
            section.section_id: section.hours - hours_left(section)
            for section in situation.sections
        }
        self._joins = {(each.first_id, each.second_id): each for each in situation.joins}

    def next_day(self) -> ProjectedDay:
        """Plan the day, let it happen, and go on to the next."""
        before = self._situation
        plan = plan_day(before)
        minutes = _minutes_given(plan)
        cold = {
            name for turn in plan.turns if turn.activity.cold for name in turn.place.section_ids
        }
        self._join(plan)
        sections = tuple(
            self._moved_on(section, minutes.get(section.section_id, 0.0), cold)
            for section in before.sections
        )
        run = any(turn.activity is Activity.RUN_THROUGH for turn in plan.turns)
        self._situation = replace(
            before,
            today=before.today + timedelta(days=1),
            sections=sections,
            first_day=before.first_day or before.today,
            joins=tuple(self._joins.values()),
            last_run_through=before.today if run else before.last_run_through,
            discomfort=False,
        )
        return _projected(before, sections, plan)

    def _join(self, plan: DayPlan) -> None:
        for turn in plan.turns:
            if turn.activity in (Activity.JOIN, Activity.RUN_THROUGH):
                for first, second in pairwise(turn.place.section_ids):
                    self._joins[first, second] = JoinStanding(
                        first_id=first, second_id=second, last_played=plan.day
                    )

    def _moved_on(self, section: PlannedSection, minutes: float, cold: set[str]) -> PlannedSection:
        name, today = section.section_id, self._situation.today
        was_cold = name in cold
        if minutes == 0 and not was_cold:
            return section
        self._spent[name] += minutes / 60.0
        stage = _stage_after(self._spent[name] / max(section.hours, 0.1))
        clean_days = section.clean_days
        if section.state is State.KNOWN:
            stage = Stage.KNOWN
        elif was_cold and stage_of(section) is Stage.SETTLING:
            clean_days += 1
            stage = Stage.SETTLING
        known = section.state is State.KNOWN or clean_days >= _DAYS_TO_KNOW
        wait = _WAITS_DAYS[min(clean_days, len(_WAITS_DAYS) - 1)] if clean_days else 1
        moved = replace(
            section,
            state=State.KNOWN if known else State.LEARNING,
            known_since=section.known_since or (today if known else None),
            clean_days=clean_days,
            last_played=today,
            practised_minutes=section.practised_minutes + minutes,
            due=today + timedelta(days=wait) if was_cold else section.due,
            complete=stage >= Stage.TEMPO,
            errors_per_100=1.0 if stage >= Stage.TEMPO else None,
            tempo_share=1.0 if stage >= Stage.SETTLING else 0.75,
        )
        if was_cold:
            moved = replace(
                moved, recent_clean=(*section.recent_clean, stage >= Stage.SETTLING)[-5:]
            )
        return moved


def _stage_after(share: float) -> Stage:
    return max(stage for stage, from_share in _STAGE_SHARES if share >= from_share)


def _minutes_given(plan: DayPlan) -> Mapping[str, float]:
    """Minutes of learning for each section: cold takes and work away from the keyboard left out."""
    found: dict[str, float] = defaultdict(float)
    for turn in plan.turns:
        if turn.activity.cold or not turn.activity.at_keyboard:
            continue
        for name in turn.place.section_ids:
            found[name] += turn.minutes / len(turn.place.section_ids)
    return found


def _projected(before: Situation, after: tuple[PlannedSection, ...], plan: DayPlan) -> ProjectedDay:
    pairs = list(zip(before.sections, after, strict=True))
    return ProjectedDay(
        day=plan.day,
        kind=plan.kind,
        minutes=plan.minutes,
        main=_main(before, plan),
        sections=tuple(
            ProjectedSection(section_id=s.section_id, stage=stage_of(s), state=s.state)
            for s in after
        ),
        begins=tuple(
            new.section_id
            for old, new in pairs
            if stage_of(old) is Stage.NEW and stage_of(new) is not Stage.NEW
        ),
        known=tuple(
            new.section_id
            for old, new in pairs
            if old.state is not State.KNOWN and new.state is State.KNOWN
        ),
    )


def _main(situation: Situation, plan: DayPlan) -> str:
    """What most minutes of the day are for."""
    if not plan.turns:
        return ""
    if plan.kind in (DayKind.FINAL, DayKind.DAY_BEFORE, DayKind.PERFORMANCE, DayKind.KEEPING):
        return {
            DayKind.FINAL: "Run-through and what is weak",
            DayKind.DAY_BEFORE: "Once through, calmly",
            DayKind.PERFORMANCE: "Warming up",
            DayKind.KEEPING: "Keeping what is known",
        }[plan.kind]
    given = _minutes_given(plan)
    names = {section.section_id: section.name for section in situation.sections}
    ranks = {section.section_id: section.rank for section in situation.sections}
    most = sorted(given, key=lambda name: (-given[name], ranks[name]))[:2]
    return joined([names[name] for name in sorted(most, key=lambda name: ranks[name])])
