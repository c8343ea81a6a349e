"""When the pianist last said something about a take or a piece: what decides when histories meet.

The tables hold *what* was said last (a name, a remark, in the bin or not); a word holds *when*.
Without it nobody could tell, between two copies of one history, which of them was told later that
a take belongs into the bin. A word outlives its take: that a take was thrown away is remembered
when the bin was emptied.

A word never goes back in time, also when the clock of the machine does: who says something later
on one machine is later.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import datetime, timedelta

from companion.storage.moments import moment_to_text, text_to_moment

NAME, REMARK, FILING, BIN, MEMORY = "name", "remark", "filing", "bin", "memory"
"""Fields of a take: filing is the piece it belongs to, bin whether it was thrown away, memory
whether it was played from memory."""

SHELF, DATE, HANDS = "shelf", "date", "hands"
"""Fields of a piece: on the shelf or not, the date of its performance, the hands of its notes."""

_TICK = timedelta(microseconds=1)


def of_document(kind: str) -> str:
    """Return the field that stands for a document of a piece."""
    return f"document: {kind}"


def note(connection: sqlite3.Connection, subject: str, field: str, now: datetime) -> str:
    """Note that something was said now; return the moment that was noted, as text.

    Parameters
    ----------
    subject
        Id of the take or the piece.
    """
    moment = moment_to_text(now)
    row = connection.execute(
        "SELECT said_at FROM words WHERE subject = ? AND field = ?", (subject, field)
    ).fetchone()
    if row is not None and row[0] >= moment:
        moment = moment_to_text(text_to_moment(row[0]) + _TICK)
    connection.execute(
        "INSERT OR REPLACE INTO words (subject, field, said_at) VALUES (?, ?, ?)",
        (subject, field, moment),
    )
    return moment


def note_all(
    connection: sqlite3.Connection, subjects: Iterable[str], field: str, now: datetime
) -> None:
    """Note the same of several takes."""
    for subject in subjects:
        note(connection, subject, field, now)
