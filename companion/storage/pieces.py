"""The shelf: pieces, our own copies of their score files, and what the window remembers of each."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from companion.history.model import Piece
from companion.score.model import Hand
from companion.storage import words
from companion.storage.moments import moment_to_text, optional_day, optional_moment

_COLUMNS = "piece_id, title, composer, score_hash, score_path, part, performance_date, opened_at"


@dataclass(frozen=True, slots=True)
class ScoreFile:
    """Our copy of a score file: its name, whose ending tells the format, and its bytes."""

    file_name: str
    content: bytes = field(repr=False)


def save_piece(connection: sqlite3.Connection, piece: Piece, now: datetime) -> None:
    """Put a piece on the shelf, or bring the one with its id up to date."""
    connection.execute(
        f"""
        INSERT INTO pieces ({_COLUMNS}, added_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)
        ON CONFLICT (piece_id) DO UPDATE SET
            title = excluded.title, composer = excluded.composer,
            score_hash = excluded.score_hash, score_path = excluded.score_path,
            part = excluded.part, performance_date = excluded.performance_date,
            opened_at = excluded.opened_at, removed_at = NULL
        """,
        (
            piece.piece_id,
            piece.title,
            piece.composer,
            piece.score_hash,
            piece.score_path,
            piece.part,
            piece.performance_date.isoformat() if piece.performance_date else None,
            moment_to_text(piece.opened_at) if piece.opened_at else None,
            moment_to_text(now),
        ),
    )
    words.note(connection, piece.piece_id, words.SHELF, now)


def piece(connection: sqlite3.Connection, piece_id: str) -> Piece | None:
    """Return a piece, also one that was taken off the shelf."""
    row = connection.execute(
        f"SELECT {_COLUMNS} FROM pieces WHERE piece_id = ?", (piece_id,)
    ).fetchone()
    return _piece(row) if row else None


def shelf(connection: sqlite3.Connection) -> tuple[Piece, ...]:
    """Return the pieces on the shelf, the one opened last first."""
    rows = connection.execute(
        f"""
        SELECT {_COLUMNS} FROM pieces WHERE removed_at IS NULL
        ORDER BY coalesce(opened_at, added_at) DESC, title
        """
    )
    return tuple(_piece(row) for row in rows)


def piece_with_score(connection: sqlite3.Connection, score_hash: str, part: str) -> Piece | None:
    """Return the piece on the shelf that has this score and part, the one opened last first."""
    row = connection.execute(
        f"""
        SELECT {_COLUMNS} FROM pieces WHERE score_hash = ? AND part = ?
        ORDER BY removed_at IS NOT NULL, opened_at DESC LIMIT 1
        """,
        (score_hash, part),
    ).fetchone()
    return _piece(row) if row else None


def mark_opened(connection: sqlite3.Connection, piece_id: str, now: datetime) -> None:
    """Note that a piece is on the stand, and put it back on the shelf."""
    connection.execute(
        "UPDATE pieces SET opened_at = ?, removed_at = NULL WHERE piece_id = ?",
        (moment_to_text(now), piece_id),
    )
    words.note(connection, piece_id, words.SHELF, now)


def take_off_shelf(connection: sqlite3.Connection, piece_id: str, now: datetime) -> None:
    """Hide a piece; its takes and sections are kept."""
    connection.execute(
        "UPDATE pieces SET removed_at = ? WHERE piece_id = ?", (moment_to_text(now), piece_id)
    )
    words.note(connection, piece_id, words.SHELF, now)


def put_back(connection: sqlite3.Connection, piece_id: str, now: datetime) -> None:
    """Show a piece again that was taken off the shelf."""
    connection.execute("UPDATE pieces SET removed_at = NULL WHERE piece_id = ?", (piece_id,))
    words.note(connection, piece_id, words.SHELF, now)


def set_performance_date(
    connection: sqlite3.Connection, piece_id: str, performance_date: date | None, now: datetime
) -> None:
    """Set or clear the date on which a piece must be played."""
    connection.execute(
        "UPDATE pieces SET performance_date = ? WHERE piece_id = ?",
        (performance_date.isoformat() if performance_date else None, piece_id),
    )
    words.note(connection, piece_id, words.DATE, now)


def save_score_file(connection: sqlite3.Connection, score_hash: str, score_file: ScoreFile) -> None:
    """Keep a copy of a score file; the same score is kept once."""
    connection.execute(
        "INSERT OR IGNORE INTO score_files (score_hash, file_name, content) VALUES (?, ?, ?)",
        (score_hash, score_file.file_name, score_file.content),
    )


def score_file(connection: sqlite3.Connection, score_hash: str) -> ScoreFile | None:
    """Return our copy of a score file, None when there is none."""
    row = connection.execute(
        "SELECT file_name, content FROM score_files WHERE score_hash = ?", (score_hash,)
    ).fetchone()
    return ScoreFile(file_name=row[0], content=row[1]) if row else None


def set_hands(
    connection: sqlite3.Connection, piece_id: str, hands: Mapping[str, Hand], now: datetime
) -> None:
    """Keep the hands that the pianist gave to notes, by note id."""
    content = json.dumps({note_id: hand.value for note_id, hand in sorted(hands.items())})
    connection.execute("UPDATE pieces SET hands = ? WHERE piece_id = ?", (content, piece_id))
    words.note(connection, piece_id, words.HANDS, now)


def hands(connection: sqlite3.Connection, piece_id: str) -> dict[str, Hand]:
    """Return the hands that the pianist gave to notes, by note id."""
    row = connection.execute("SELECT hands FROM pieces WHERE piece_id = ?", (piece_id,)).fetchone()
    return {note_id: Hand(hand) for note_id, hand in json.loads(row[0]).items()} if row else {}


def set_view(connection: sqlite3.Connection, piece_id: str, view: str) -> None:
    """Keep what the window wants to remember of a piece: text of its own making."""
    connection.execute("UPDATE pieces SET view = ? WHERE piece_id = ?", (view, piece_id))


def view(connection: sqlite3.Connection, piece_id: str) -> str:
    """Return what the window remembered of a piece, "" for nothing."""
    row = connection.execute("SELECT view FROM pieces WHERE piece_id = ?", (piece_id,)).fetchone()
    return str(row[0]) if row else ""


def _piece(row: tuple[str, str, str, str, str, str, str | None, str | None]) -> Piece:
    piece_id, title, composer, score_hash, score_path, part, performance_date, opened_at = row
    return Piece(
        piece_id=piece_id,
        title=title,
        composer=composer,
        score_hash=score_hash,
        score_path=score_path,
        part=part,
        performance_date=optional_day(performance_date),
        opened_at=optional_moment(opened_at),
    )
