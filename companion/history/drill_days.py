"""Drills over days: how even the groups and how late their borders were, practice day by day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from statistics import median

from companion.history.days import DAY_STARTS_AT_HOUR, practice_day
from companion.listening.measuring.drills import DrillResult


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillRecord:
    """One take of a drill, as the history keeps it; figures are medians over complete tries."""

    drill_id: str
    take_id: str
    started_at: datetime
    zone: str
    tries: int
    clean: int
    evenness_sd_ms: float | None = None
    evenness_cv: float | None = None
    border_delay_ms: float | None = None
    quarters_per_minute: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillDay:
    """One drill on one practice day; figures are medians over its takes."""

    day: date
    tries: int
    clean: int
    evenness_sd_ms: float | None
    border_delay_ms: float | None
    quarters_per_minute: float | None


def drill_record(
    result: DrillResult, *, take_id: str, started_at: datetime, zone: str
) -> DrillRecord:
    """What is kept of a take of a drill."""
    return DrillRecord(
        drill_id=result.drill_id,
        take_id=take_id,
        started_at=started_at,
        zone=zone,
        tries=len(result.tries),
        clean=result.clean_count,
        evenness_sd_ms=result.evenness_sd_ms,
        evenness_cv=result.evenness_cv,
        border_delay_ms=result.border_delay_ms,
        quarters_per_minute=result.quarters_per_minute,
    )


def drill_days(
    records: Iterable[DrillRecord], day_starts_at_hour: int = DAY_STARTS_AT_HOUR
) -> dict[str, tuple[DrillDay, ...]]:
    """The days of each drill in order, by drill id."""
    by_day: dict[tuple[str, date], list[DrillRecord]] = defaultdict(list)
    for record in records:
        day = practice_day(record.started_at, record.zone, day_starts_at_hour)
        by_day[record.drill_id, day].append(record)
    days: dict[str, list[DrillDay]] = defaultdict(list)
    for (drill_id, day), takes in sorted(by_day.items(), key=lambda item: item[0]):
        days[drill_id].append(
            DrillDay(
                day=day,
                tries=sum(take.tries for take in takes),
                clean=sum(take.clean for take in takes),
                evenness_sd_ms=_median(take.evenness_sd_ms for take in takes),
                border_delay_ms=_median(take.border_delay_ms for take in takes),
                quarters_per_minute=_median(take.quarters_per_minute for take in takes),
            )
        )
    return {drill_id: tuple(found) for drill_id, found in days.items()}


def _median(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return median(known) if known else None
