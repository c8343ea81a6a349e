"""Merging takes: by id, then the same recording under two ids.

Rows are compared as values; events are read only where two takes may be the same recording, and
copied as the bytes they are.
"""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from companion.errors import EditRefused
from companion.history.fingerprints import same_playing
from companion.history.model import TakeSource
from companion.storage import words
from companion.storage.merging.rules import Word, latest
from companion.storage.merging.said import Said
from companion.storage.packing import pack_events, unpack_events
from companion.storage.takes import events_of

_LONGEST_SECONDS = 1e6  # eleven days: not-a-number is not below it

_FROM_MEMORY = "from memory"

_OF_A_FILE = {TakeSource.FILE.value, TakeSource.DEMO.value}


@dataclass(frozen=True, slots=True, order=True, kw_only=True)
class Recording:
    """What was recorded; of two with one id the greater is whole.

    A copy of a history that was made while a take was played holds a part of it.
    """

    size_bytes: int
    note_count: int
    duration_seconds: float
    content_hash: str
    started_at: str
    zone: str
    source: str
    instrument: str
    recovered: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeRow:
    """A take: its recording, and what was said about it."""

    take_id: str
    recording: Recording
    from_other: bool
    name: Word
    remark: Word
    filing: Word
    thrown_away: Word
    from_memory: Word

    @property
    def is_of_a_file(self) -> bool:
        """Whether it was imported, so that it may have been imported elsewhere too."""
        return self.recording.source in _OF_A_FILE

    @property
    def precedence(self) -> tuple[bool, str, str]:
        """Of two takes of the same recording the lesser stays."""
        recording = self.recording
        return (self.is_of_a_file, recording.started_at, self.take_id)


def read_takes(
    connection: sqlite3.Connection, homes: Mapping[str, str], said: Said, *, from_other: bool
) -> dict[str, TakeRow]:
    """Return all finished takes of a history by id, without their events."""
    rows = connection.execute(
        """
        SELECT take_id, piece_id, name, remark, deleted_at, from_memory,
            (SELECT coalesce(sum(length(events)), 0) FROM take_events
                WHERE take_events.take_id = takes.take_id),
            note_count, duration_seconds, content_hash, started_at, zone, source, instrument,
            recovered
        FROM takes WHERE state = 'closed'
        """
    )
    found = {}
    for take_id, piece_id, name, remark, deleted_at, from_memory, *recorded in rows:
        found[take_id] = TakeRow(
            take_id=take_id,
            recording=Recording(**dict(zip(Recording.__slots__, recorded, strict=True))),
            from_other=from_other,
            name=Word.of(said.get((take_id, words.NAME)), name),
            remark=Word.of(said.get((take_id, words.REMARK)), remark),
            filing=Word.of(
                said.get((take_id, words.FILING)), homes[piece_id] if piece_id else None
            ),
            thrown_away=Word.of(
                max(said.get((take_id, words.BIN), ""), deleted_at or ""), deleted_at
            ),
            from_memory=Word.of(
                said.get((take_id, words.MEMORY)), _FROM_MEMORY if from_memory else None
            ),
        )
    return found


def joined(
    ours: Mapping[str, TakeRow], theirs: Mapping[str, TakeRow], *, gone: Mapping[str, str]
) -> dict[str, TakeRow]:
    """Return the takes of both, one for each id.

    Parameters
    ----------
    gone
        When takes were thrown away that one of the histories does not hold any more, by id.
    """
    together = {}
    for take_id in ours.keys() | theirs.keys():
        rows = [row for row in (ours.get(take_id), theirs.get(take_id)) if row is not None]
        row = _join(rows, max(rows, key=lambda one: (one.recording, not one.from_other)))
        if take_id in gone and len(rows) == 1:
            moment = gone[take_id]
            row = replace(row, thrown_away=latest(row.thrown_away, Word.of(moment, moment)))
        together[take_id] = row
    return together


def one_of_each_recording(
    together: Mapping[str, TakeRow], ours: sqlite3.Connection, other: sqlite3.Connection
) -> tuple[dict[str, TakeRow], dict[str, str]]:
    """Leave one take of those that hold the same recording.

    Only takes of files are left out. What the piano gave was played: two takes of a single key may
    be alike in everything but their moment.

    Returns
    -------
    takes, homes
        The takes that stay, by id; and for the ids of the others the one that stays for them.
    """
    by_hash: dict[str, list[TakeRow]] = defaultdict(list)
    for row in together.values():
        if row.recording.content_hash:
            by_hash[row.recording.content_hash].append(row)
    staying = dict(together)
    homes: dict[str, str] = {}
    for alike in by_hash.values():
        if len(alike) == 1:
            continue
        for same in _classes(alike, ours, other):
            first = min(same, key=lambda row: row.precedence)
            doubles = [row for row in same if row is not first and row.is_of_a_file]
            for row in doubles:
                del staying[row.take_id]
                homes[row.take_id] = first.take_id
            staying[first.take_id] = _join([first, *doubles], first)
    return staying, homes


def _join(rows: Iterable[TakeRow], first: TakeRow) -> TakeRow:
    several = tuple(rows)
    return replace(
        first,
        name=latest(*(row.name for row in several)),
        remark=latest(*(row.remark for row in several)),
        filing=latest(*(row.filing for row in several)),
        thrown_away=latest(*(row.thrown_away for row in several)),
        from_memory=latest(*(row.from_memory for row in several)),
    )


def _classes(
    alike: list[TakeRow], ours: sqlite3.Connection, other: sqlite3.Connection
) -> list[list[TakeRow]]:
    """Divide takes with one fingerprint into those that hold the same playing."""
    heard = {
        row.take_id: events_of(other if row.from_other else ours, row.take_id) for row in alike
    }
    classes: list[list[TakeRow]] = []
    for row in sorted(alike, key=lambda one: one.take_id):
        same = [
            group
            for group in classes
            if any(same_playing(heard[row.take_id], heard[one.take_id]) for one in group)
        ]
        for group in same:
            classes.remove(group)
        classes.append([row, *(one for group in same for one in group)])
    return classes


def write_takes(
    connection: sqlite3.Connection,
    other: sqlite3.Connection,
    before: Mapping[str, TakeRow],
    after: Mapping[str, TakeRow],
) -> Iterator[None]:
    """Bring the takes of ours to what they shall be; yields after each one that was written."""
    for take_id in before.keys() - after.keys():
        connection.execute("DELETE FROM takes WHERE take_id = ?", (take_id,))
    for take_id, row in after.items():
        if before.get(take_id) == row:
            continue
        _write(connection, row)
        if row.from_other:
            _copy_events(connection, other, take_id)
        yield


def _write(connection: sqlite3.Connection, row: TakeRow) -> None:
    recording = row.recording
    connection.execute(
        """
        INSERT INTO takes (take_id, piece_id, started_at, zone, source, duration_seconds,
            note_count, instrument, name, remark, recovered, content_hash, deleted_at, from_memory,
            state)
        VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 'closed')
        ON CONFLICT (take_id) DO UPDATE SET
            piece_id = excluded.piece_id, started_at = excluded.started_at, zone = excluded.zone,
            source = excluded.source, duration_seconds = excluded.duration_seconds,
            note_count = excluded.note_count, instrument = excluded.instrument,
            name = excluded.name, remark = excluded.remark, recovered = excluded.recovered,
            content_hash = excluded.content_hash, deleted_at = excluded.deleted_at,
            from_memory = excluded.from_memory
        """,
        (
            row.take_id,
            row.filing.or_none,
            recording.started_at,
            recording.zone,
            recording.source,
            recording.duration_seconds,
            recording.note_count,
            recording.instrument,
            row.name.value,
            row.remark.value,
            recording.recovered,
            recording.content_hash,
            row.thrown_away.or_none,
            row.from_memory.filled,
        ),
    )


def _copy_events(connection: sqlite3.Connection, other: sqlite3.Connection, take_id: str) -> None:
    connection.execute("DELETE FROM take_events WHERE take_id = ?", (take_id,))
    connection.execute("DELETE FROM take_results WHERE take_id = ?", (take_id,))
    for chunk, events in other.execute(
        "SELECT chunk, events FROM take_events WHERE take_id = ? ORDER BY chunk", (take_id,)
    ):
        _check_events(events)
        connection.execute(
            "INSERT INTO take_events (take_id, chunk, events) VALUES (?, ?, ?)",
            (take_id, chunk, events),
        )


def _check_events(packed: bytes) -> None:
    """Make sure that what is copied are messages with times, and nothing else."""
    events = unpack_events(packed)
    if len(pack_events(events)) != len(packed) or not all(
        0 <= event.at_seconds < _LONGEST_SECONDS and len(event.message) in (2, 3)
        for event in events
    ):
        raise EditRefused(
            "A take of the other history is damaged. The two histories were not merged, and "
            "nothing was changed."
        )
