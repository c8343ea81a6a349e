"""The plan of today, with what of it is done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from companion.history.care import DISCOMFORT, discomfort_on
from companion.history.model import Entry
from companion.history.planning.day import plan_day
from companion.history.planning.schedule import Schedule, schedule
from companion.history.planning.situation import Situation
from companion.history.planning.ticking import TickedPlan, ticked
from companion.practice.planning.done import done_on
from companion.practice.planning.situation import PlanAsked, situation_of, touched_by_takes
from companion.storage.history_file import HistoryFile


@dataclass(frozen=True, slots=True, kw_only=True)
class Today:
    """The plan of today, the days to come, and what both were made from."""

    situation: Situation = field(repr=False)
    plan: TickedPlan
    schedule: Schedule = field(repr=False)


def plan_today(history: HistoryFile, asked: PlanAsked, entries: Iterable[Entry] = ()) -> Today:
    """Plan today from how things stood this morning, and tick off what was done since.

    The plan stays the same while the day goes on: it is a function of the morning. What reality
    changes shows tomorrow, and in :func:`companion.history.planning.ticking.what_is_left`.

    Parameters
    ----------
    entries
        Of the piece, of any day.

    Raises
    ------
    HistoryUnavailable
        The file cannot be read.
    """
    touched = touched_by_takes(history, asked)
    noted = history.entries_of(None, DISCOMFORT)
    if discomfort_on(noted, asked.today, asked.day_starts_at_hour):
        asked = replace(asked, discomfort=True)
    situation = situation_of(history, asked, touched)
    done = done_on(asked, touched, entries, asked.today)
    return Today(
        situation=situation,
        plan=ticked(plan_day(situation), done),
        schedule=schedule(situation),
    )
