"""What the pianist decided about a piece besides its map, and what was done away from takes.

A *document* is a text of its own kind per piece (corrected chords, groups of notes, fingers, the
order of work): the last one is in force. An *entry* is something dated that is added and never
changed (a chord that was named, a drill that was played, a discomfort): raw truth, as takes are.
Both are JSON of whoever owns the kind; here they are text.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import datetime

from companion.history.model import Entry
from companion.storage import words
from companion.storage.moments import moment_to_text, text_to_moment


def save_document(
    connection: sqlite3.Connection, piece_id: str, kind: str, content: str, now: datetime
) -> None:
    """Put a document in force; an empty one is removed."""
    said_at = words.note(connection, piece_id, words.of_document(kind), now)
    if not content:
        connection.execute(
            "DELETE FROM piece_documents WHERE piece_id = ? AND kind = ?", (piece_id, kind)
        )
        return
    connection.execute(
        """
        INSERT INTO piece_documents (piece_id, kind, changed_at, content) VALUES (?, ?, ?, ?)
        ON CONFLICT (piece_id, kind)
        DO UPDATE SET changed_at = excluded.changed_at, content = excluded.content
        """,
        (piece_id, kind, said_at, content),
    )


def document(connection: sqlite3.Connection, piece_id: str, kind: str) -> str:
    """Return a document, "" when there is none."""
    row = connection.execute(
        "SELECT content FROM piece_documents WHERE piece_id = ? AND kind = ?", (piece_id, kind)
    ).fetchone()
    return str(row[0]) if row else ""


def add_entries(connection: sqlite3.Connection, entries: Iterable[Entry]) -> None:
    """Add entries; one that is there already, by its id, is left as it is."""
    connection.executemany(
        """
        INSERT INTO entries (entry_id, piece_id, kind, happened_at, zone, content)
        VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (entry_id) DO NOTHING
        """,
        [
            (
                entry.entry_id,
                entry.piece_id,
                entry.kind,
                moment_to_text(entry.happened_at),
                entry.zone,
                entry.content,
            )
            for entry in entries
        ],
    )


def entries_of(
    connection: sqlite3.Connection, piece_id: str | None, kind: str
) -> tuple[Entry, ...]:
    """Return the entries of a kind with a piece (None: with no piece), oldest first."""
    rows = connection.execute(
        """
        SELECT entry_id, piece_id, kind, happened_at, zone, content FROM entries
        WHERE piece_id IS ? AND kind = ? ORDER BY happened_at, entry_id
        """,
        (piece_id, kind),
    )
    return _entries(rows)


def entries_of_kind(connection: sqlite3.Connection, kind: str) -> tuple[Entry, ...]:
    """Return the entries of a kind with whichever piece, oldest first."""
    rows = connection.execute(
        """
        SELECT entry_id, piece_id, kind, happened_at, zone, content FROM entries
        WHERE kind = ? ORDER BY happened_at, entry_id
        """,
        (kind,),
    )
    return _entries(rows)


def _entries(rows: Iterable[tuple[str, str | None, str, str, str, str]]) -> tuple[Entry, ...]:
    return tuple(
        Entry(
            entry_id=entry_id,
            piece_id=of_piece,
            kind=its_kind,
            happened_at=text_to_moment(happened_at),
            zone=zone,
            content=content,
        )
        for entry_id, of_piece, its_kind, happened_at, zone, content in rows
    )
