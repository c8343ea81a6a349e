"""How days are counted, and which day is today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache

from companion.history.days import practice_day


@cache
def zone_of_this_machine() -> str:
    """IANA name of the time zone; asked for when it is needed, for Qt takes 7 ms to find it."""
    from PySide6.QtCore import QTimeZone

    return bytes(QTimeZone.systemTimeZoneId().data()).decode() or "UTC"


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """How days are counted: by the clock of this machine, from this hour on."""

    day_starts_at_hour: int

    @property
    def zone(self) -> str:
        """IANA name of the player's zone."""
        return zone_of_this_machine()

    @property
    def today(self) -> date:
        """The practice day now."""
        return practice_day(datetime.now(UTC), self.zone, self.day_starts_at_hour)
