"""How things stand when a day is planned: dates, time, sections, joins.

Everything here is what was heard and what the pianist has said, *before* anything was played on the
day that is planned: so the plan of a day stays the same while the day goes on, and
:mod:`companion.history.planning.ticking` says what of it is done.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from companion.analysis.tasks.model import TaskKind
from companion.history.knowing.known import State
from companion.history.knowing.retention import Estimate
from companion.history.knowing.standing import SectionStanding
from companion.score.model import Hand

RECENT_COLD_TAKES = 5
"""How many of the newest cold takes the plan looks at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Availability:
    """When and how long there is time to practise this piece.

    Parameters
    ----------
    minutes_by_weekday
        Seven whole numbers, Monday first.
    days_off
        Days without practice, whatever their weekday.
    other_minutes
        Days with another time than their weekday has.
    """

    minutes_by_weekday: tuple[int, ...] = (45,) * 7
    days_off: frozenset[date] = frozenset()
    other_minutes: tuple[tuple[date, int], ...] = ()

    def __post_init__(self) -> None:
        if len(self.minutes_by_weekday) != 7:
            raise ValueError("a week has seven days")
        every = (*self.minutes_by_weekday, *(minutes for _, minutes in self.other_minutes))
        if any(not 0 <= minutes <= 24 * 60 for minutes in every):
            raise ValueError("a day has 0 to 1440 minutes")

    def minutes_on(self, day: date) -> int:
        """Minutes there are on a day; 0 on a day off."""
        if day in self.days_off:
            return 0
        return dict(self.other_minutes).get(day, self.minutes_by_weekday[day.weekday()])

    def minutes_between(self, first: date, behind: date) -> int:
        """Minutes from the first day on, ``behind`` not counted."""
        days = max((behind - first).days, 0)
        return sum(self.minutes_on(first + timedelta(days=number)) for number in range(days))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTask:
    """A task inside a section; ``hand`` is None for both."""

    task_id: str
    name: str
    kind: TaskKind
    hand: Hand | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedSection:
    """A section of the finest division, as the plan sees it.

    Parameters
    ----------
    rank
        1 for the hardest.
    hours
        Estimated work from nothing until it is known.
    playing_seconds
        Once through at the target tempo.
    state, clean_days, retention, known_since
        As in :class:`companion.history.knowing.standing.SectionStanding`.
    recent_clean
        Whether the newest cold takes were clean, oldest first.
    due
        When it should be played cold again; None without a cold take so far.
    last_played
        The last day on which anything of it was played; None when it has not been begun.
    practised_minutes
        So far; 0 where nobody counted.
    complete
        Whether the newest cold take went to the end.
    errors_per_100, tempo_share
        Of the newest cold take that tells; None without one.
    target_beats_per_minute
        None when it has no target.
    tasks
        In order of place.
    """

    section_id: str
    name: str
    rank: int
    hours: float
    playing_seconds: float = 30.0
    state: State = State.NEW
    clean_days: int = 0
    recent_clean: tuple[bool, ...] = ()
    retention: Estimate | None = None
    known_since: date | None = None
    due: date | None = None
    last_played: date | None = None
    practised_minutes: float = 0.0
    complete: bool = False
    errors_per_100: float | None = None
    tempo_share: float | None = None
    target_beats_per_minute: float | None = None
    tasks: tuple[PlannedTask, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinStanding:
    """Two neighbours and the last day on which the border between them was played over."""

    first_id: str
    second_id: str
    last_played: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """Everything that a day's plan is made from.

    Parameters
    ----------
    today
        The day that is planned.
    sections
        The finest division in the order of the piece.
    performance
        None without one; one that has passed counts as none.
    first_day
        When work on the piece began; None for today.
    joins
        Neighbours that were played over; those that are missing never were.
    last_run_through
        The last day on which the whole piece was played through.
    from_memory
        Whether it will be played without the score.
    discomfort
        Whether the pianist noted discomfort today: there is nothing to plan then.
    """

    today: date
    sections: tuple[PlannedSection, ...]
    availability: Availability = Availability()
    performance: date | None = None
    first_day: date | None = None
    joins: tuple[JoinStanding, ...] = ()
    last_run_through: date | None = None
    from_memory: bool = False
    discomfort: bool = False

    @property
    def hardest_first(self) -> tuple[PlannedSection, ...]:
        """The sections by rank, those of one rank in the order of the piece."""
        return tuple(sorted(self.sections, key=lambda section: section.rank))

    @property
    def ahead(self) -> date | None:
        """The day of the performance while it has not passed."""
        if self.performance is None or self.performance < self.today:
            return None
        return self.performance

    @property
    def playing_seconds(self) -> float:
        """Of the whole piece at its target tempi."""
        return sum(section.playing_seconds for section in self.sections)


def planned_section(
    standing: SectionStanding,
    *,
    rank: int,
    hours: float,
    playing_seconds: float = 30.0,
    practised_minutes: float = 0.0,
    beat_quarters: float = 1.0,
    tasks: Iterable[PlannedTask] = (),
) -> PlannedSection:
    """Return what the plan sees of a section.

    Parameters
    ----------
    standing
        From the attempts *before* the day that is planned, asked for that day.
    beat_quarters
        Length of a beat in quarters, to name metronome marks in beats.
    """
    cold = standing.cold_takes
    last = cold[-1].attempt if cold else None
    target = standing.target_quarters_per_minute
    return PlannedSection(
        section_id=standing.section_id,
        name=standing.name,
        rank=rank,
        hours=hours,
        playing_seconds=playing_seconds,
        state=standing.state,
        clean_days=standing.clean_days,
        recent_clean=tuple(take.clean for take in cold[-RECENT_COLD_TAKES:]),
        retention=standing.retention,
        known_since=standing.known_since,
        due=standing.next_return.day if standing.next_return is not None else None,
        last_played=standing.last_played,
        practised_minutes=practised_minutes,
        complete=last is not None and last.complete,
        errors_per_100=last.errors_per_100 if last is not None else None,
        tempo_share=standing.tempo_share,
        target_beats_per_minute=target / beat_quarters if target else None,
        tasks=tuple(tasks),
    )


def neighbours(sections: Sequence[PlannedSection]) -> tuple[tuple[str, str], ...]:
    """The borders of the piece as pairs of section ids, in order."""
    return tuple((one.section_id, other.section_id) for one, other in pairwise(sections))
