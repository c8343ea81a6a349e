"""What a report says, as plain frozen values.

Conventions
-----------
- Accuracies are 0 to 1, tempi quarters per minute; None means that it cannot be told. The figures
  of a day are medians over complete takes with both hands, see
  :mod:`companion.history.summaries`.
- Measures are named by their printed numbers.
- How a section stands (state, known since, cold takes) is told over *all* its days; figures of
  days, playing time, passages and remarks are those of the period.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from itertools import groupby, zip_longest

from companion.history.knowing.known import State

MOST_ROWS = 26
"""Sections in a table: what a page has room for beside everything else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DayFigures:
    """A section on one practice day, both hands together."""

    day: date
    takes: int
    accuracy: float | None
    quarters_per_minute: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ColdDay:
    """The cold take of a day: clean, or why not, in words ("2 stops")."""

    day: date
    clean: bool
    why_not: tuple[str, ...] = ()
    from_memory: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportSection:
    """One section of the map.

    Parameters
    ----------
    level
        0 on the top level of the map, 1 below, ...
    from_measure_index, to_measure_index
        First measure, and the first of which nothing belongs to the section.
    beat_quarters
        Length of a beat where it begins: tempi are shown in these beats.
    clean_days, days_to_know
        Clean cold takes that count towards being known, and how many are needed.
    probability, low, high
        That a cold take would be clean today, with its 95 % interval; None before any cold take.
    cold
        All its cold takes, in rising order.
    days
        In rising order, those of the period.
    """

    section_id: str
    name: str
    level: int
    from_measure: str
    to_measure: str
    from_measure_index: int
    to_measure_index: int
    purpose: str = ""
    beat_quarters: Fraction = Fraction(1)
    target_quarters_per_minute: float | None = None
    state: State = State.NEW
    known_since: date | None = None
    lapsed_on: date | None = None
    clean_days: int = 0
    days_to_know: int = 3
    probability: float | None = None
    low: float | None = None
    high: float | None = None
    cold: tuple[ColdDay, ...] = ()
    days: tuple[DayFigures, ...] = ()

    @property
    def measures(self) -> str:
        """Its measures as printed, "9–16"."""
        if self.from_measure == self.to_measure:
            return self.from_measure
        return f"{self.from_measure}–{self.to_measure}"

    @property
    def is_named_by_measures(self) -> bool:
        """Whether its name says nothing but its measures, "mm. 9–16"."""
        return self.name.endswith(self.measures) and not self.name[:1].isupper()

    @property
    def last_accuracy(self) -> float | None:
        """Accuracy of the last day that tells one."""
        return next((d.accuracy for d in reversed(self.days) if d.accuracy is not None), None)

    @property
    def last_quarters_per_minute(self) -> float | None:
        """Running tempo of the last day that tells one."""
        found = (day.quarters_per_minute for day in reversed(self.days))
        return next((tempo for tempo in found if tempo is not None), None)

    @property
    def last_played(self) -> date | None:
        """The last day of the period on which it was played."""
        return self.days[-1].day if self.days else None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedDay:
    """How much was played on a day."""

    day: date
    takes: int
    minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ResistingPassage:
    """Measures in which errors come again.

    Parameters
    ----------
    plays
        How often they were played in the period.
    errors_per_play
        Wrong, missed and added notes each time, in the measure of them where most are.
    days
        On how many days errors were made there.
    """

    from_measure: str
    to_measure: str
    section: str
    plays: int
    errors_per_play: float
    days: int

    @property
    def measures(self) -> str:
        """The measures as printed."""
        if self.from_measure == self.to_measure:
            return self.from_measure
        return f"{self.from_measure}–{self.to_measure}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """What the student wrote on a take."""

    day: date
    about: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadinessGlance:
    """The last readiness check in one sentence, with its day."""

    day: date
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportValues:
    """Everything a report says.

    Parameters
    ----------
    player
        The student's name as typed; empty for none.
    from_day, to_day
        The period, both days included.
    measure_count
        Written measures of the piece: the width of its map.
    takes_to_work_out
        Takes that are not compared with the score yet and are missing from everything here.
    rules
        What counted as clean and as known, in one sentence.
    order
        Whether the hardest sections are those known longest, in words; empty when nobody asked.
    letter
        What the student writes to the teacher.
    """

    title: str
    composer: str = ""
    player: str = ""
    from_day: date
    to_day: date
    performance: date | None = None
    measure_count: int = 0
    sections: tuple[ReportSection, ...] = ()
    playing: tuple[PlayedDay, ...] = ()
    resisting: tuple[ResistingPassage, ...] = ()
    remarks: tuple[Remark, ...] = ()
    readiness: ReadinessGlance | None = None
    rules: str = ""
    order: str = ""
    letter: str = field(default="", repr=False)
    takes_to_work_out: int = 0

    @property
    def leaves(self) -> tuple[ReportSection, ...]:
        """The finest sections: those that hold no other one."""
        return tuple(
            section
            for section, after in zip_longest(self.sections, self.sections[1:])
            if after is None or after.level <= section.level
        )

    @property
    def rows(self) -> tuple[ReportSection, ...]:
        """The sections of a table: all levels, as far down as a page has room for."""
        deepest = max((section.level for section in self.sections), default=0)
        while deepest and self._count_to(deepest) > MOST_ROWS:
            deepest -= 1
        return tuple(section for section in self.sections if section.level <= deepest)

    def _count_to(self, level: int) -> int:
        return sum(section.level <= level for section in self.sections)

    @property
    def days_left(self) -> int | None:
        """Days until the performance; None without one, or when it is over."""
        if self.performance is None or self.performance < self.to_day:
            return None
        return (self.performance - self.to_day).days

    @property
    def minutes(self) -> float:
        """Minutes played in the period."""
        return sum(day.minutes for day in self.playing)

    @property
    def minutes_a_week(self) -> float:
        """Minutes a week over the period; a period below a week counts as one."""
        return self.minutes / max(1.0, ((self.to_day - self.from_day).days + 1) / 7)

    @property
    def weeks(self) -> tuple[tuple[date, float], ...]:
        """Minutes of each week of the period, by its Monday, in rising order."""
        played = {
            monday: sum(day.minutes for day in days)
            for monday, days in groupby(self.playing, key=lambda day: _monday(day.day))
        }
        first, last = _monday(self.from_day), _monday(self.to_day)
        count = (last - first).days // 7 + 1
        mondays = [first + timedelta(weeks=number) for number in range(count)]
        return tuple((monday, played.get(monday, 0.0)) for monday in mondays)

    @property
    def last_played(self) -> date | None:
        """The last day of the period on which anything was played."""
        return self.playing[-1].day if self.playing else None

    def count(self, state: State) -> int:
        """How many of the finest sections stand so."""
        return sum(section.state is state for section in self.leaves)


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
