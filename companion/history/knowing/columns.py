"""The cold takes of a stretch as columns of numbers, for histories of many years.

With ten years of practice there are tens of thousands of cold takes. Whether each was clean, and on
which day, is told from columns at once; only those that somebody looks at become values.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from companion.history.days import DAY_STARTS_AT_HOUR, practice_day, zone_named
from companion.history.knowing.attempts import Attempt
from companion.history.knowing.clean import Thresholds, flaws
from companion.history.knowing.known import ColdTake, JudgedTakes
from companion.history.knowing.played import PlayedStretch
from companion.listening.notes import Hands

HANDS = tuple(Hands)
"""A choice of hands is kept as its place here."""

RECORD = np.dtype(
    [
        ("stretch", "<u8"),
        ("hands", "u1"),
        ("complete", "?"),
        ("began_again", "?"),
        ("coverage", "<f8"),
        ("expected", "<u4"),
        ("wrong", "<u4"),
        ("missed", "<u4"),
        ("added", "<u4"),
        ("edge_errors", "<u4"),
        ("stops", "<u4"),
        ("tempo", "<f8"),
    ]
)
"""One attempt without its take. ``stretch`` is a fingerprint of the stretch; ``tempo`` is in
quarters a minute, not a number where it cannot be told."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_EPOCH_ORDINAL = _EPOCH.toordinal()
_SECONDS_A_DAY = 86_400
_MICROSECONDS = 1_000_000


@dataclass(frozen=True, slots=True)
class TakeColumns:
    """The takes that attempts belong to: ids, moments in microseconds since 1970, zones, memory."""

    take_ids: Sequence[str]
    microseconds: NDArray[np.int64]
    zones: Sequence[str]
    from_memory: NDArray[np.bool_]

    def attempt(self, take: int, record: tuple[Any, ...]) -> Attempt:
        """Return one attempt as a value."""
        _, hands, complete, began_again, coverage, *counts, tempo = record
        expected, wrong, missed, added, edge_errors, stops = counts
        return Attempt(
            take_id=self.take_ids[take],
            started_at=_EPOCH + timedelta(microseconds=int(self.microseconds[take])),
            zone=self.zones[take],
            hands=HANDS[hands],
            coverage=coverage,
            complete=complete,
            began_again=began_again,
            expected=expected,
            wrong=wrong,
            missed=missed,
            added=added,
            edge_errors=edge_errors,
            stops=stops,
            running_tempo_quarters_per_minute=None if np.isnan(tempo) else tempo,
            from_memory=bool(self.from_memory[take]),
        )


def record_of(fingerprint: int, attempt: Attempt) -> tuple[Any, ...]:
    """Return an attempt as a row of :data:`RECORD`; inverse: :meth:`TakeColumns.attempt`."""
    tempo = attempt.running_tempo_quarters_per_minute
    return (
        fingerprint,
        HANDS.index(attempt.hands),
        attempt.complete,
        attempt.began_again,
        attempt.coverage,
        attempt.expected,
        attempt.wrong,
        attempt.missed,
        attempt.added,
        attempt.edge_errors,
        attempt.stops,
        np.nan if tempo is None else tempo,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedColumns(PlayedStretch):
    """As :class:`PlayedStretch`, the cold takes as columns in the place of ``cold``.

    Parameters
    ----------
    takes
        Of the whole piece; ``take_of`` says which of them each cold take is.
    records, cold_days
        Of the cold takes, in rising order of days (ordinals).
    """

    takes: TakeColumns = field(repr=False)
    take_of: NDArray[np.int64] = field(repr=False)
    records: NDArray[np.void] = field(repr=False)
    cold_days: NDArray[np.int64] = field(repr=False)

    def judged(
        self,
        target_quarters_per_minute: float | None,
        rules: Thresholds,
        day_starts_at_hour: int = DAY_STARTS_AT_HOUR,
    ) -> Sequence[ColdTake]:
        """Judge the cold takes; see :meth:`PlayedStretch.judged`."""
        days = tuple(map(date.fromordinal, self.cold_days.tolist()))
        clean = _clean(self.records, target_quarters_per_minute, rules).tolist()

        def make(place: int) -> ColdTake:
            attempt = self.takes.attempt(int(self.take_of[place]), self.records[place].tolist())
            return ColdTake(
                day=days[place],
                attempt=attempt,
                flaws=flaws(attempt, target_quarters_per_minute, rules),
            )

        return JudgedTakes(days, tuple(clean), make)


def _clean(
    records: NDArray[np.void], target_quarters_per_minute: float | None, rules: Thresholds
) -> NDArray[np.bool_]:
    """Which attempts have no flaw, as :func:`companion.history.knowing.clean.flaws` finds them."""
    errors = (
        records["wrong"].astype(np.int64)
        + records["missed"].astype(np.int64)
        + records["added"].astype(np.int64)
    )
    expected = records["expected"]
    with np.errstate(divide="ignore", invalid="ignore"):
        few = (100.0 * errors / expected <= rules.errors_per_100) & (expected > 0)
    clean = (
        records["complete"]
        & ~records["began_again"]
        & (records["stops"] <= rules.stops)
        & few
        & (records["edge_errors"] <= rules.edge_errors)
    )
    if target_quarters_per_minute is not None:
        clean &= ~(records["tempo"] < rules.tempo_share * target_quarters_per_minute)
    return np.asarray(clean, dtype=np.bool_)


def day_ordinals(
    microseconds: NDArray[np.int64], zones: Sequence[str], day_starts_at_hour: int
) -> NDArray[np.int64]:
    """Return the practice days of many moments, as :func:`practice_day` gives each of them.

    Parameters
    ----------
    microseconds
        Since 1970 in UTC.
    zones
        Of each moment.

    Returns
    -------
    NDArray
        ``date.toordinal()`` of each day.
    """
    ordinals = np.zeros(len(microseconds), dtype=np.int64)
    names = np.array(zones, dtype=object)
    for zone in set(zones):
        chosen = np.flatnonzero(names == zone)
        moments = microseconds[chosen] // _MICROSECONDS
        days, place = np.unique(moments // _SECONDS_A_DAY, return_inverse=True)
        offsets = np.array([_offset_seconds(int(day), zone) for day in days])[place]
        wall = moments + np.maximum(offsets, -_SECONDS_A_DAY) - day_starts_at_hour * 3600
        found = wall // _SECONDS_A_DAY + _EPOCH_ORDINAL
        for number in np.flatnonzero(offsets == _CHANGES):
            moment = _EPOCH + timedelta(microseconds=int(microseconds[chosen[number]]))
            found[number] = practice_day(moment, zone, day_starts_at_hour).toordinal()
        ordinals[chosen] = found
    return ordinals


_CHANGES = -10 * _SECONDS_A_DAY  # no offset


def _offset_seconds(utc_day: int, zone: str) -> int:
    """How far a zone is ahead of UTC through a day of UTC; a mark when clocks change in it."""
    begin = (_EPOCH + timedelta(days=utc_day)).astimezone(zone_named(zone)).utcoffset()
    end = (_EPOCH + timedelta(days=utc_day + 1)).astimezone(zone_named(zone)).utcoffset()
    if begin is None or begin != end:
        return _CHANGES
    return int(begin.total_seconds())
