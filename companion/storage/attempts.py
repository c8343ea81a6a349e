"""Attempts at each stretch: what *known since* and retention are worked out from.

Derived, as all results are. The attempts of a take, one record per stretch that it touched, are
packed into one value: with ten years of practice on a piece there are some hundred thousand of
them, and as rows of SQL they alone took more than a second to read.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from companion.history.knowing.attempts import (
    ATTEMPT_COVERAGE,
    SPILL_COVERAGE,
    Attempt,
)
from companion.history.knowing.columns import (
    HANDS,
    RECORD,
    PlayedColumns,
    TakeColumns,
    day_ordinals,
    record_of,
)
from companion.history.knowing.played import PlayedStretch
from companion.history.knowing.touched import Touched
from companion.history.results import Stretch
from companion.listening.notes import Hands

_BOTH = HANDS.index(Hands.BOTH)


def pack_attempts(attempts: Mapping[Stretch, Attempt]) -> bytes:
    """Write the attempts of one take as records."""
    rows = [record_of(_fingerprint(stretch.key), each) for stretch, each in attempts.items()]
    return np.array(rows, dtype=RECORD).tobytes()


def write_attempts(
    connection: sqlite3.Connection, take_id: str, basis: str, packed: bytes, *, beside: bool
) -> None:
    """Write the packed attempts of a take.

    Parameters
    ----------
    beside
        True to keep earlier ones at other stretches, False to replace them all.
    """
    if beside:
        row = connection.execute(
            "SELECT records FROM attempts WHERE take_id = ? AND basis = ?", (take_id, basis)
        ).fetchone()
        if row is not None:
            newer = np.frombuffer(packed, dtype=RECORD)["stretch"]
            packed = _without(row[0], newer) + packed
    connection.execute(
        "INSERT OR REPLACE INTO attempts (take_id, basis, records) VALUES (?, ?, ?)",
        (take_id, basis, packed),
    )


def forget_attempts(
    connection: sqlite3.Connection, take_ids: Iterable[str], keys: Iterable[str]
) -> None:
    """Remove the attempts of some takes at some stretches."""
    gone = np.array([_fingerprint(key) for key in keys], dtype=np.uint64)
    for take_id in take_ids:
        row = connection.execute(
            "SELECT records FROM attempts WHERE take_id = ?", (take_id,)
        ).fetchone()
        if row is not None:
            connection.execute(
                "UPDATE attempts SET records = ? WHERE take_id = ?",
                (_without(row[0], gone), take_id),
            )


def played_stretches(
    connection: sqlite3.Connection,
    piece_id: str,
    basis: str,
    stretches: Iterable[Stretch],
    day_starts_at_hour: int,
    before: date | None = None,
) -> dict[Stretch, PlayedStretch]:
    """Return the cold takes and the days of each stretch that was played.

    The same as :func:`companion.history.knowing.attempts.played_stretch` of all attempts.

    Parameters
    ----------
    before
        Leave out what was played on this practice day or later; None for nothing.
    """
    rows = connection.execute(
        """
        SELECT take_id, started_at, zone, from_memory, records
        FROM takes JOIN attempts USING (take_id)
        WHERE piece_id = ? AND deleted_at IS NULL AND basis = ?
        ORDER BY started_at, take_id
        """,
        (piece_id, basis),
    ).fetchall()
    if not rows:
        return {}
    take_ids, started, zones, memory, packed = zip(*rows, strict=True)
    # moments are kept in UTC with microseconds; numpy reads them without their zone
    moments = np.array([text[:26] for text in started], dtype="datetime64[us]").astype(np.int64)
    takes = TakeColumns(take_ids, moments, zones, np.array(memory, dtype=np.bool_))
    records = np.frombuffer(b"".join(packed), dtype=RECORD)
    take_of = np.repeat(np.arange(len(rows)), [len(each) // RECORD.itemsize for each in packed])
    stretch_of = np.ascontiguousarray(records["stretch"])
    by_stretch = np.argsort(stretch_of, kind="stable")  # and by time within each
    fingerprints = stretch_of[by_stretch]
    touched = (records["coverage"] >= SPILL_COVERAGE) | records["began_again"]
    day_of = day_ordinals(moments, zones, day_starts_at_hour)[take_of]
    if before is not None:
        touched &= day_of < before.toordinal()
    from_memory = takes.from_memory[take_of]

    def played(tried: NDArray[np.int64]) -> PlayedColumns:
        inside = tried[touched[tried]]
        days, first = np.unique(day_of[inside], return_index=True)
        apart = np.unique(day_of[inside][records["hands"][inside] != _BOTH])
        chosen = inside[first]
        whole = _whole(records[chosen])
        return PlayedColumns(
            takes=takes,
            take_of=take_of[chosen[whole]],
            records=records[chosen[whole]],
            cold_days=days[whole],
            take_count=len(tried),
            days=tuple(map(date.fromordinal, days.tolist())),
            apart_days=tuple(map(date.fromordinal, apart.tolist())),
        )

    found: dict[Stretch, PlayedStretch] = {}
    for stretch in stretches:
        wanted = np.uint64(_fingerprint(stretch.key))
        begin = int(np.searchsorted(fingerprints, wanted, side="left"))
        end = int(np.searchsorted(fingerprints, wanted, side="right"))
        if begin == end:
            continue
        inside = by_stretch[begin:end]
        by_heart = inside[from_memory[inside]]
        found[stretch] = replace(
            played(inside), from_memory=played(by_heart) if len(by_heart) else None
        )
    return found


def touched_sections(
    connection: sqlite3.Connection,
    piece_id: str,
    basis: str,
    stretches: Sequence[Stretch],
    day_starts_at_hour: int,
) -> Touched:
    """Return which take touched which of these stretches, takes in rising order."""
    rows = connection.execute(
        """
        SELECT take_id, started_at, zone, duration_seconds, from_memory, records
        FROM takes JOIN attempts USING (take_id)
        WHERE piece_id = ? AND deleted_at IS NULL AND basis = ?
        ORDER BY started_at, take_id
        """,
        (piece_id, basis),
    ).fetchall()
    take_ids = [row[0] for row in rows]
    moments = np.array([row[1][:26] for row in rows], dtype="datetime64[us]").astype(np.int64)
    records = np.frombuffer(b"".join(row[5] for row in rows), dtype=RECORD)
    take_of = np.repeat(np.arange(len(rows)), [len(row[5]) // RECORD.itemsize for row in rows])
    shape = (len(rows), len(stretches))
    coverage, complete = np.zeros(shape), np.zeros(shape, dtype=np.bool_)
    began_again = np.zeros(shape, dtype=np.bool_)
    hands, tempo = np.full(shape, _BOTH, dtype=np.uint8), np.full(shape, np.nan)
    stops = np.zeros(shape, dtype=np.int64)
    kept = (records["coverage"] >= SPILL_COVERAGE) | records["began_again"]
    for column, stretch in enumerate(stretches):
        inside = np.flatnonzero(kept & (records["stretch"] == _fingerprint(stretch.key)))
        at = take_of[inside]
        # begun again before a tenth of it: touched all the same
        coverage[at, column] = np.maximum(records["coverage"][inside], SPILL_COVERAGE)
        complete[at, column] = records["complete"][inside]
        began_again[at, column] = records["began_again"][inside]
        hands[at, column] = records["hands"][inside]
        tempo[at, column] = records["tempo"][inside]
        stops[at, column] = records["stops"][inside]
    return Touched(
        take_ids=take_ids,
        microseconds=moments,
        seconds=np.array([row[3] for row in rows], dtype=np.float64),
        days=day_ordinals(moments, [row[2] for row in rows], day_starts_at_hour),
        coverage=coverage,
        complete=complete,
        began_again=began_again,
        hands=hands,
        tempo=tempo,
        stops=stops,
        from_memory=np.array([row[4] for row in rows], dtype=np.bool_),
    )


def _whole(records: NDArray[np.void]) -> NDArray[np.bool_]:
    """Which attempts were meant for the whole stretch, as :attr:`Attempt.is_whole`."""
    meant = records["complete"] | records["began_again"]
    meant = meant | (records["coverage"] >= ATTEMPT_COVERAGE)
    return np.asarray(meant & (records["hands"] == _BOTH), dtype=np.bool_)


def _fingerprint(key: str) -> int:
    return int.from_bytes(hashlib.blake2b(key.encode(), digest_size=8).digest(), "little")


def _without(packed: bytes, fingerprints: NDArray[np.uint64]) -> bytes:
    records = np.frombuffer(packed, dtype=RECORD)
    return records[~np.isin(records["stretch"], fingerprints)].tobytes()
