"""Takes and their raw events, the only truth of the history.

A take that is being played is *open*: its row and chunks of its events are written while it is
played, a few times a second. Closing it joins the chunks into one. A take that is found open at
the next start was cut off with the program and is closed then from what was written.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from companion.history.fingerprints import fingerprint, strokes
from companion.history.model import RawEvent, Take, TakeSource
from companion.storage import words
from companion.storage.moments import moment_to_text, optional_moment, text_to_moment
from companion.storage.packing import pack_events, unpack_events

_COLUMNS = (
    "take_id, piece_id, started_at, zone, source, duration_seconds, note_count, instrument,"
    " name, remark, recovered, content_hash, deleted_at, from_memory"
)


def begin_take(connection: sqlite3.Connection, take: Take) -> None:
    """Write the row of a take that is being played."""
    _write_row(connection, take, state="open")


def write_chunk(
    connection: sqlite3.Connection, take_id: str, chunk: int, events: Sequence[RawEvent]
) -> None:
    """Write one chunk of an open take; writing the same number again replaces the chunk."""
    connection.execute(
        "INSERT OR REPLACE INTO take_events (take_id, chunk, events) VALUES (?, ?, ?)",
        (take_id, chunk, pack_events(events)),
    )


def save_take(connection: sqlite3.Connection, take: Take) -> None:
    """Write a whole take with its events: an import, or the end of an open take.

    The chunks of an open take are replaced by ``take.events``.
    """
    _write_row(connection, take, state="closed")
    connection.execute("DELETE FROM take_events WHERE take_id = ?", (take.take_id,))
    write_chunk(connection, take.take_id, 0, take.events)


def drop_open_take(connection: sqlite3.Connection, take_id: str) -> None:
    """Remove an open take in which no key was pressed."""
    connection.execute("DELETE FROM takes WHERE take_id = ? AND state = 'open'", (take_id,))


def recover_open_takes(connection: sqlite3.Connection) -> tuple[Take, ...]:
    """Close the takes that were cut off with the program; return those that hold notes."""
    rows = connection.execute(
        f"SELECT {_COLUMNS} FROM takes WHERE state = 'open' ORDER BY started_at"
    ).fetchall()
    recovered = []
    for row in rows:
        cut_off = _take(row)
        events = events_of(connection, cut_off.take_id)
        note_count = len(strokes(events))
        if not note_count:
            drop_open_take(connection, cut_off.take_id)
            continue
        take = replace(
            cut_off,
            events=events,
            recovered=True,
            duration_seconds=max(event.at_seconds for event in events),
            note_count=note_count,
            content_hash=fingerprint(events),
        )
        save_take(connection, take)
        recovered.append(take)
    return tuple(recovered)


def events_of(connection: sqlite3.Connection, take_id: str) -> tuple[RawEvent, ...]:
    """Return the raw events of a take in the order in which they came."""
    rows = connection.execute(
        "SELECT events FROM take_events WHERE take_id = ? ORDER BY chunk", (take_id,)
    )
    return tuple(event for (packed,) in rows for event in unpack_events(packed))


def take(connection: sqlite3.Connection, take_id: str) -> Take | None:
    """Return a take with its events, also one in the bin."""
    row = connection.execute(
        f"SELECT {_COLUMNS} FROM takes WHERE take_id = ?", (take_id,)
    ).fetchone()
    return replace(_take(row), events=events_of(connection, take_id)) if row else None


def takes_of(
    connection: sqlite3.Connection,
    piece_id: str | None,
    *,
    in_bin: bool = False,
    newest: int | None = None,
) -> tuple[Take, ...]:
    """Return the finished takes of a piece without their events, newest first.

    ``piece_id`` None means the takes that are filed with no piece; ``in_bin`` returns those that
    were thrown away instead; ``newest`` returns no more than so many.
    """
    rows = connection.execute(
        f"""
        SELECT {_COLUMNS} FROM takes
        WHERE piece_id IS ? AND state = 'closed' AND (deleted_at IS NOT NULL) = ?
        ORDER BY started_at DESC, take_id LIMIT ?
        """,
        (piece_id, in_bin, -1 if newest is None else newest),
    )
    return tuple(_take(row) for row in rows)


def take_ids(connection: sqlite3.Connection) -> tuple[str, ...]:
    """Return the ids of all finished takes, those in the bin included, oldest first."""
    rows = connection.execute(
        "SELECT take_id FROM takes WHERE state = 'closed' ORDER BY started_at, take_id"
    )
    return tuple(take_id for (take_id,) in rows)


def takes_with_content(connection: sqlite3.Connection, content_hash: str) -> tuple[Take, ...]:
    """Return the takes outside the bin with this fingerprint, with their events."""
    rows = connection.execute(
        f"""
        SELECT {_COLUMNS} FROM takes
        WHERE content_hash = ? AND content_hash <> '' AND deleted_at IS NULL
        ORDER BY started_at
        """,
        (content_hash,),
    ).fetchall()
    return tuple(replace(_take(row), events=events_of(connection, row[0])) for row in rows)


def mark_deleted(
    connection: sqlite3.Connection, take_ids: Iterable[str], moment: datetime | None
) -> None:
    """Throw takes away, or fetch them back with ``moment`` None."""
    text = moment_to_text(moment) if moment else None
    connection.executemany(
        "UPDATE takes SET deleted_at = ? WHERE take_id = ?",
        [(text, take_id) for take_id in take_ids],
    )


def empty_bin(connection: sqlite3.Connection, thrown_away_before: datetime) -> int:
    """Remove takes that were thrown away before a moment, for good; return how many.

    That they were thrown away is remembered, so that a copy of the history does not bring them
    back.
    """
    connection.execute(
        """
        INSERT OR REPLACE INTO words (subject, field, said_at)
        SELECT take_id, ?, max(deleted_at, coalesce(said_at, '')) FROM takes
        LEFT JOIN words ON subject = take_id AND field = ?
        WHERE deleted_at < ?
        """,
        (words.BIN, words.BIN, moment_to_text(thrown_away_before)),
    )
    cursor = connection.execute(
        "DELETE FROM takes WHERE deleted_at < ?", (moment_to_text(thrown_away_before),)
    )
    return cursor.rowcount


def rename_take(connection: sqlite3.Connection, take_id: str, name: str) -> None:
    """Give a take a name."""
    connection.execute("UPDATE takes SET name = ? WHERE take_id = ?", (name, take_id))


def annotate_take(connection: sqlite3.Connection, take_id: str, remark: str) -> None:
    """Write a remark on a take."""
    connection.execute("UPDATE takes SET remark = ? WHERE take_id = ?", (remark, take_id))


def mark_memory(connection: sqlite3.Connection, take_ids: Iterable[str], memory: bool) -> None:
    """Note takes as played from memory, or as played with the score."""
    connection.executemany(
        "UPDATE takes SET from_memory = ? WHERE take_id = ?",
        [(memory, take_id) for take_id in take_ids],
    )


def move_take(connection: sqlite3.Connection, take_id: str, piece_id: str | None) -> None:
    """File a take with another piece, or with none."""
    connection.execute("UPDATE takes SET piece_id = ? WHERE take_id = ?", (piece_id, take_id))


def _write_row(connection: sqlite3.Connection, take: Take, *, state: str) -> None:
    # A take of a piece that this file does not know is kept, filed with no piece: the file may be
    # an older copy that was put in the place of a damaged one.
    connection.execute(
        f"""
        INSERT INTO takes ({_COLUMNS}, state)
        VALUES (?, (SELECT piece_id FROM pieces WHERE piece_id = ?),
                ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
        ON CONFLICT (take_id) DO UPDATE SET
            piece_id = excluded.piece_id, started_at = excluded.started_at, zone = excluded.zone,
            source = excluded.source, duration_seconds = excluded.duration_seconds,
            note_count = excluded.note_count, instrument = excluded.instrument,
            name = excluded.name, remark = excluded.remark, recovered = excluded.recovered,
            content_hash = excluded.content_hash, deleted_at = excluded.deleted_at,
            -- may have been said while the journal was still writing the take
            from_memory = max(from_memory, excluded.from_memory),
            state = excluded.state
        """,
        (
            take.take_id,
            take.piece_id,
            moment_to_text(take.started_at),
            take.zone,
            take.source.value,
            take.duration_seconds,
            take.note_count,
            take.instrument,
            take.name,
            take.remark,
            take.recovered,
            take.content_hash,
            moment_to_text(take.deleted_at) if take.deleted_at else None,
            take.from_memory,
            state,
        ),
    )


def _take(row: Sequence[Any]) -> Take:
    (
        take_id, piece_id, started_at, zone, source, duration_seconds, note_count, instrument,
        name, remark, recovered, content_hash, deleted_at, from_memory,
    ) = row  # fmt: skip
    return Take(
        take_id=take_id,
        piece_id=piece_id,
        started_at=text_to_moment(started_at),
        zone=zone,
        source=TakeSource(source),
        duration_seconds=duration_seconds,
        note_count=note_count,
        instrument=instrument,
        name=name,
        remark=remark,
        recovered=bool(recovered),
        content_hash=content_hash,
        deleted_at=optional_moment(deleted_at),
        from_memory=bool(from_memory),
    )


def playing_times(
    connection: sqlite3.Connection, since: datetime
) -> tuple[tuple[datetime, str, float], ...]:
    """Return beginning, zone and seconds of what was played since a moment, demo data left out."""
    rows = connection.execute(
        """
        SELECT started_at, zone, duration_seconds FROM takes
        WHERE state = 'closed' AND source <> ? AND started_at >= ? ORDER BY started_at
        """,
        (TakeSource.DEMO.value, moment_to_text(since)),
    )
    return tuple((text_to_moment(begun), zone, seconds) for begun, zone, seconds in rows)
