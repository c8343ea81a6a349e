"""The plan of today, with what of it is done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from companion.history.model import Entry
from companion.history.planning.day import plan_day
from companion.history.planning.situation import Situation
from companion.history.planning.ticking import TickedPlan, ticked
from companion.practice.planning.done import done_on
from companion.practice.planning.situation import PlanAsked, situation_of, touched_by_takes
from companion.storage.history_file import HistoryFile


@dataclass(frozen=True, slots=True, kw_only=True)
class Today:
    """The plan of today and what it was made from."""

    situation: Situation = field(repr=False)
    plan: TickedPlan


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
    situation = situation_of(history, asked, touched)
    done = done_on(asked, touched, entries, asked.today)
    return Today(situation=situation, plan=ticked(plan_day(situation), done))
