"""A day's plan as plain frozen values.

Conventions
-----------
- A plan is a function of how things stand, never of an earlier plan: what was left out yesterday
  shows in how the sections stand today. Nothing is stored.
- Minutes are whole, and those of the turns never add up to more than the day has.
- *Cold* turns come first: a take counts as cold only when nothing of the section was played before
  it on that day.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from companion.score.model import Hand


class Activity(StrEnum):
    """What is done in a turn."""

    COLD_TAKE = "cold take"
    RUN_THROUGH = "cold run-through"
    HANDS_SEPARATELY = "hands separately"
    GROUPS_AND_RHYTHMS = "groups and rhythms"
    UNDER_TEMPO = "under tempo"
    UP_TO_TEMPO = "up to tempo"
    FROM_MEMORY = "from memory"
    STARTS = "starts"
    JOIN = "join with the neighbour"
    ROUND = "round"
    RECITE = "recite"
    CONDUCT = "conduct"
    REPLAY = "once more what was learnt today"

    @property
    def at_keyboard(self) -> bool:
        """Whether it is played, and not done away from the keyboard."""
        return self not in (Activity.RECITE, Activity.CONDUCT)

    @property
    def cold(self) -> bool:
        """Whether its first take is meant to be the first of the day."""
        return self in (Activity.COLD_TAKE, Activity.RUN_THROUGH)


class PlaceKind(StrEnum):
    """What a turn is about."""

    SECTION = "section"
    TASK = "task"
    JOIN = "join"
    SECTIONS = "sections"
    PIECE = "piece"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where in the piece a turn takes place.

    Parameters
    ----------
    section_ids
        In the order of the piece: one for a section or a task inside it, two neighbours for a join,
        all of them for the piece.
    name
        As it is shown.
    task_id
        Of a task; None otherwise.
    """

    kind: PlaceKind
    section_ids: tuple[str, ...]
    name: str
    task_id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTurn:
    """One turn of a day.

    Parameters
    ----------
    turn_id
        The same whenever the same turn is planned for the same day.
    minutes
        Whole minutes, pauses between takes included.
    why
        One plain line.
    hand
        Whose task it is; None for both, and for hands separately in turn.
    beats_per_minute
        The mark to set the metronome to first, in beats of the section's target; None without one.
    """

    turn_id: str
    activity: Activity
    place: Place
    minutes: int
    why: str
    hand: Hand | None = None
    beats_per_minute: int | None = None


class DayKind(StrEnum):
    """What a day is for."""

    LEARNING = "learning"
    JOINING = "learning and joining"
    KEEPING = "keeping"
    FINAL = "run-throughs"
    DAY_BEFORE = "the day before"
    PERFORMANCE = "performance"
    OFF = "day off"
    STOPPED = "stopped for today"


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPlan:
    """What to do on one day, in order.

    Parameters
    ----------
    minutes_available
        What the day has; 0 on a day off.
    headline
        One plain sentence on what the day is for.
    """

    day: date
    kind: DayKind
    minutes_available: int
    headline: str
    turns: tuple[PlannedTurn, ...] = ()

    @property
    def minutes(self) -> int:
        """Of all turns together; at most what the day has."""
        return sum(turn.minutes for turn in self.turns)

    @property
    def playing_minutes(self) -> int:
        """Of the turns at the keyboard."""
        return sum(turn.minutes for turn in self.turns if turn.activity.at_keyboard)
