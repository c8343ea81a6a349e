"""What the page of today shows, as plain values."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnLine:
    """A turn of the plan as one line.

    Parameters
    ----------
    what, where
        What is done, and with which part of the piece.
    tempo
        What to set the metronome to: "quarter = 84"; empty without one.
    done
        Whether it is done; ``begun`` when some of it is, ``too_late`` when it cannot be made up
        today.
    by_hand
        Whether nobody can hear it, so that the pianist has to say that it was done.
    section_id
        The section that the map shows for it; None for the whole piece.
    """

    turn_id: str
    what: str
    where: str
    tempo: str
    minutes: int
    why: str
    done: bool = False
    begun: bool = False
    too_late: bool = False
    by_hand: bool = False
    section_id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayLine:
    """A day on the way to the performance."""

    day: str
    what: str
    minutes: str
    today: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SpotLine:
    """A spot that was marked while playing."""

    measure_index: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TodayContent:
    """Everything on the page.

    Parameters
    ----------
    title, headline
        The day, and one sentence on what it is for.
    minutes_planned, minutes_left
        Of all turns, and of those that are not done.
    next_id
        The first turn that is not done; None when there is none.
    days, outlook
        The way to the performance, and a sentence on whether it is long enough.
    spots
        What was marked while playing.
    care
        Sentences on breaks, rising hours, discomfort.
    waiting
        Whether the plan is still being made.
    stopped
        Whether discomfort was noted today.
    """

    title: str = ""
    headline: str = ""
    turns: tuple[TurnLine, ...] = ()
    minutes_planned: int = 0
    minutes_left: int = 0
    next_id: str | None = None
    days: tuple[DayLine, ...] = ()
    outlook: str = ""
    spots: tuple[SpotLine, ...] = ()
    care: tuple[str, ...] = ()
    waiting: bool = False
    stopped: bool = False
