"""When the next section is begun: the hardest at once, an easier one when its time has come.

The promise of the plan is that the hardest sections are those known longest. If all are begun in
the first days, the easy ones are known first, for they need less. So beginnings are spread over the
first part of the schedule, each section behind the work of the harder ones; no section waits longer
than time allows (:func:`companion.history.planning.work.in_focus` begins it when time runs short),
and while less is open than fills a day, the next is begun all the same. Project conventions.
"""

from __future__ import annotations

from companion.history.planning.phases import (
    SHORTEST_SCHEDULE_DAYS,
    begun_on,
    final_phase_begins,
)
from companion.history.planning.situation import PlannedSection, Situation
from companion.history.planning.stages import Stage, stage_of

BEGUN_WITHIN_SHARE = 0.7
"""Share of the days until the run-throughs within which everything is begun."""

DAYS_FOR_EACH_BEGINNING = 3
"""With fewer days than this for a section, that is in long pieces, all beginnings come sooner."""

MINUTES_FOR_EACH_OPEN = 30
"""A day of so many minutes has work enough in one section, of twice as many in two, and so on."""


def may_begin(situation: Situation, section: PlannedSection) -> bool:
    """Whether it is time for a section that nobody has begun, as far as dates go."""
    final = final_phase_begins(situation)
    if final is None:
        return True
    begun = begun_on(situation)
    days = (final - begun).days
    if days < SHORTEST_SCHEDULE_DAYS or _fills_no_day(situation):
        return True
    hours = [each.hours for each in situation.hardest_first]
    harder = sum(hours[: situation.hardest_first.index(section)])
    before_last = sum(hours[:-1]) or 1.0
    room = min(1.0, days / (len(hours) * DAYS_FOR_EACH_BEGINNING))
    waits_days = BEGUN_WITHIN_SHARE * room * days * harder / before_last
    return (situation.today - begun).days >= waits_days


def _fills_no_day(situation: Situation) -> bool:
    minutes = situation.availability.minutes_on(situation.today)
    stages = [stage_of(section) for section in situation.sections]
    being_learnt = sum(stage not in (Stage.NEW, Stage.KNOWN) for stage in stages)
    return being_learnt < 1 + minutes // MINUTES_FOR_EACH_OPEN
