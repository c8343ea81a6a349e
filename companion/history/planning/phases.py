"""What a day is for, by how far the performance is away.

Sources of the rules
--------------------
- Joins from the middle of the schedule on: longer stretches by the middle stage went with better
  performances (Williamon & Valentine 2000, Brit. J. Psychol. 91:353-376).
- The last days belong to run-throughs, without new material, and the day before is light: common
  practice. How many days that is, is a project convention.
"""

from __future__ import annotations

from datetime import date, timedelta

from companion.history.planning.model import DayKind
from companion.history.planning.situation import Situation
from companion.history.planning.stages import Stage, stage_of

FINAL_SHARE = 0.15
"""Share of the schedule that belongs to run-throughs (project convention)."""

FEWEST_FINAL_DAYS, MOST_FINAL_DAYS = 2, 7
SHORTEST_SCHEDULE_DAYS = 4
"""With less time than this only the day before is set apart."""

JOINS_FROM_SHARE = 0.5
DAYS_BETWEEN_RUN_THROUGHS = 4


def final_phase_begins(situation: Situation) -> date | None:
    """The first day of the run-throughs; None without a performance ahead."""
    performance = situation.ahead
    if performance is None:
        return None
    total = (performance - begun_on(situation)).days
    if total < SHORTEST_SCHEDULE_DAYS:
        return performance - timedelta(days=1)
    days = min(MOST_FINAL_DAYS, max(FEWEST_FINAL_DAYS, round(FINAL_SHARE * total)))
    return performance - timedelta(days=days)


def kind_of_day(situation: Situation) -> DayKind:
    """What the day that is planned is for."""
    if situation.discomfort:
        return DayKind.STOPPED
    if situation.today == situation.ahead:
        return DayKind.PERFORMANCE
    if situation.availability.minutes_on(situation.today) == 0:
        return DayKind.OFF
    final = final_phase_begins(situation)
    if final is None:
        return _without_a_date(situation)
    if situation.ahead is not None and (situation.ahead - situation.today).days == 1:
        return DayKind.DAY_BEFORE
    if situation.today >= final:
        return DayKind.FINAL
    begun = begun_on(situation)
    total = max((final - begun).days, 1)
    if (situation.today - begun).days >= JOINS_FROM_SHARE * total:
        return DayKind.JOINING
    return _without_a_date(situation, while_learning=DayKind.LEARNING)


def run_through_due(situation: Situation, kind: DayKind) -> bool:
    """Whether the day begins with the whole piece.

    In the last days on each day, as soon as there is no untouched section; before that every few
    days when all notes are learnt.
    """
    stages = [stage_of(section) for section in situation.sections]
    if len(stages) < 2 or Stage.NEW in stages:
        return False
    if kind in (DayKind.FINAL, DayKind.DAY_BEFORE):
        return True
    if kind not in (DayKind.JOINING, DayKind.KEEPING):
        return False
    last = situation.last_run_through
    waited = last is None or (situation.today - last).days >= DAYS_BETWEEN_RUN_THROUGHS
    return waited and all(stage.notes_learnt for stage in stages)


def _without_a_date(situation: Situation, while_learning: DayKind | None = None) -> DayKind:
    """By how far the sections have come: joins wait until half of them can be played through."""
    stages = [stage_of(section) for section in situation.sections]
    if stages and all(stage is Stage.KNOWN for stage in stages):
        return DayKind.KEEPING
    if while_learning is not None:
        return while_learning
    learnt = sum(stage.notes_learnt for stage in stages)
    return DayKind.JOINING if stages and 2 * learnt >= len(stages) else DayKind.LEARNING


def begun_on(situation: Situation) -> date:
    """Return the day on which work on the piece began: today when it has not."""
    first = situation.first_day
    return min(first, situation.today) if first is not None else situation.today
