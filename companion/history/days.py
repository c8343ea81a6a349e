"""The practice day: local, and beginning in the small hours rather than at midnight.

Who plays until one in the morning is still in yesterday's practice. A day therefore begins at
``day_starts_at_hour`` (4 by default) *on the clock of the wall* in the zone in which the take was
played. The hour is compared with the wall clock, never subtracted from the moment: on the night
when clocks change, subtracting four hours would move the border by one.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

DAY_STARTS_AT_HOUR = 4
"""Default first hour of a practice day (project convention)."""


@lru_cache(maxsize=64)
def zone_named(name: str) -> ZoneInfo:
    """Return the time zone of that name, UTC when this machine does not know it.

    A history may come from a machine with newer zone data; a take must not be lost for that.
    """
    # imported when the first day is asked for: it looks through the machine's zones (3 ms)
    from zoneinfo import ZoneInfo

    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):  # ZoneInfoNotFoundError is a KeyError
        return ZoneInfo("UTC")


def practice_day(moment: datetime, zone: str, day_starts_at_hour: int = DAY_STARTS_AT_HOUR) -> date:
    """Return the practice day that a moment belongs to.

    Parameters
    ----------
    moment
        Timezone-aware.
    zone
        IANA name of the zone in which it was played.
    day_starts_at_hour
        0 to 12.
    """
    if moment.tzinfo is None:
        raise ValueError("a moment needs a time zone")
    local = moment.astimezone(zone_named(zone))
    if local.hour < day_starts_at_hour:
        return local.date() - timedelta(days=1)
    return local.date()


def bounds_of_day(
    day: date, zone: str, day_starts_at_hour: int = DAY_STARTS_AT_HOUR
) -> tuple[datetime, datetime]:
    """Return the first moment of a practice day and the first one behind it, both in UTC.

    The day is 23 or 25 hours long when clocks change inside it. Inverse of :func:`practice_day`.
    """
    return (
        _start_of(day, zone, day_starts_at_hour),
        _start_of(day + timedelta(days=1), zone, day_starts_at_hour),
    )


def _start_of(day: date, zone: str, day_starts_at_hour: int) -> datetime:
    local = datetime.combine(day, time(day_starts_at_hour), tzinfo=zone_named(zone))
    return local.astimezone(UTC)


def days_between(first: date, last: date) -> Iterator[date]:
    """Yield every day from first to last, both included."""
    for number in range((last - first).days + 1):
        yield first + timedelta(days=number)
