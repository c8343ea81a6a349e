"""How each section stands over the days, from plain rows.

Conventions
-----------
- Days are practice days (:mod:`companion.history.days`).
- Accuracy and tempo of a day are taken over *complete* takes where there are any, because half a
  section flatters or wrongs it; on a day with fragments only they are taken over the fragments.
- *First* is the first take of the section on that day with those hands. Whether it was cold, that
  is with nothing of the section played before on the day, says
  :mod:`companion.history.knowing.attempts`.
- Takes hands separately are counted, but never mixed into the figures of both hands.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from companion.history.days import DAY_STARTS_AT_HOUR, practice_day
from companion.history.results import SectionGlance, SectionResult, Stretch
from companion.listening.measuring.take_measures import MeasureErrors
from companion.listening.notes import Hands

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


SectionRow = SectionResult | SectionGlance
"""A row that can be summarised."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionDay:
    """A section on one practice day.

    ``take_count`` counts takes that touched it with these hands, ``complete_count`` those that
    covered it. ``first_*`` is the first take of the day. Accuracies are 0 to 1, tempi running tempi
    in quarters per minute; None where no take of the day could tell.
    """

    day: date
    hands: Hands
    take_count: int
    complete_count: int
    best_accuracy: float | None
    median_accuracy: float | None
    first_accuracy: float | None
    best_quarters_per_minute: float | None
    median_quarters_per_minute: float | None
    first_quarters_per_minute: float | None
    first_take_id: str
    stops: int
    last_played_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionSummary:
    """A section over all days: ``days`` in rising order, both hands and each hand apart."""

    stretch: Stretch
    take_count: int
    last_played_at: datetime | None
    days: tuple[SectionDay, ...]

    def days_with(self, hands: Hands) -> tuple[SectionDay, ...]:
        """Return the days on which it was played with these hands."""
        return tuple(day for day in self.days if day.hands is hands)

    @property
    def latest(self) -> SectionDay | None:
        """The last day with both hands; the last day at all when there is none."""
        together = self.days_with(Hands.BOTH)
        if together:
            return together[-1]
        return self.days[-1] if self.days else None


def summarise_sections(
    results: Iterable[SectionRow], day_starts_at_hour: int = DAY_STARTS_AT_HOUR
) -> dict[Stretch, SectionSummary]:
    """Summarise rows of any number of takes and sections, per stretch."""
    by_stretch: dict[Stretch, list[SectionRow]] = defaultdict(list)
    for result in results:
        by_stretch[result.stretch].append(result)
    return {
        stretch: _summarise(stretch, rows, day_starts_at_hour)
        for stretch, rows in by_stretch.items()
    }


def empty_summary(stretch: Stretch) -> SectionSummary:
    """Return the summary of a section that was never played."""
    return SectionSummary(stretch=stretch, take_count=0, last_played_at=None, days=())


def _summarise(stretch: Stretch, rows: list[SectionRow], day_starts_at_hour: int) -> SectionSummary:
    rows.sort(key=lambda row: row.started_at)
    by_day: dict[tuple[date, Hands], list[SectionRow]] = defaultdict(list)
    for row in rows:
        day = practice_day(row.started_at, row.zone, day_starts_at_hour)
        by_day[day, row.hands].append(row)
    days = [_one_day(day, hands, played) for (day, hands), played in by_day.items()]
    days.sort(key=lambda day: (day.day, day.hands is not Hands.BOTH, day.hands.value))
    return SectionSummary(
        stretch=stretch,
        take_count=len({row.take_id for row in rows}),
        last_played_at=rows[-1].started_at,
        days=tuple(days),
    )


def _one_day(day: date, hands: Hands, rows: Sequence[SectionRow]) -> SectionDay:
    from statistics import median  # here: the window opens earlier without it

    complete = [row for row in rows if row.complete]
    telling = complete or rows
    accuracies = [row.accuracy for row in telling if row.accuracy is not None]
    tempi = [
        row.running_tempo_quarters_per_minute
        for row in telling
        if row.running_tempo_quarters_per_minute is not None
    ]
    first = rows[0]
    return SectionDay(
        day=day,
        hands=hands,
        take_count=len(rows),
        complete_count=len(complete),
        best_accuracy=max(accuracies, default=None),
        median_accuracy=median(accuracies) if accuracies else None,
        first_accuracy=first.accuracy,
        best_quarters_per_minute=max(tempi, default=None),
        median_quarters_per_minute=median(tempi) if tempi else None,
        first_quarters_per_minute=first.running_tempo_quarters_per_minute,
        first_take_id=first.take_id,
        stops=sum(row.stops for row in rows),
        last_played_at=rows[-1].started_at,
    )


COUNTS_OF_A_MEASURE = tuple(field.name for field in fields(MeasureErrors))
"""Columns of the table that :func:`heat_strip` adds up; the first is the measure index."""


def heat_strip(counts: NDArray[np.integer[Any]]) -> tuple[MeasureErrors, ...]:
    """Add up the measures of many takes.

    Parameters
    ----------
    counts
        shape=(n, k), one row per take and measure, columns as :data:`COUNTS_OF_A_MEASURE`.

    Returns
    -------
    tuple of MeasureErrors
        One per measure that was played, in rising order.
    """
    import numpy as np  # here: the window opens a tenth of a second earlier without it

    if counts.size == 0:
        return ()
    indices = counts[:, 0]
    # adding up by bins takes a fifth of the time of ``np.add.at``; the counts are far below 2^53
    columns = [np.bincount(indices, weights=column) for column in np.ascontiguousarray(counts.T)]
    sums = np.stack(columns, axis=1).astype(np.int64)
    played = np.unique(indices)
    sums[:, 0] = np.arange(len(sums))
    return tuple(
        MeasureErrors(**dict(zip(COUNTS_OF_A_MEASURE, row, strict=True)))
        for row in sums[played].tolist()
    )


def errors_per_play(measure: MeasureErrors) -> float | None:
    """Wrong, missed and added notes per time the measure was played; None when it never was."""
    if not measure.plays:
        return None
    return (measure.wrong + measure.missed + measure.added) / measure.plays
