"""The words of both histories: when something was said, by subject and field."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping

Said = dict[tuple[str, str], str]
"""Moment as text by (id of the take or piece, field)."""


def read_words(connection: sqlite3.Connection) -> Said:
    """Return all words of a history."""
    return {
        (subject, field): said_at
        for subject, field, said_at in connection.execute(
            "SELECT subject, field, said_at FROM words"
        )
    }


def union(*several: Said, homes: Mapping[str, str]) -> Said:
    """Return the later words of several histories.

    Parameters
    ----------
    homes
        The id under which a subject stands from now on, for those that change it.
    """
    together: Said = {}
    for words in several:
        for (subject, field), said_at in words.items():
            key = (homes.get(subject, subject), field)
            together[key] = max(said_at, together.get(key, ""))
    return together


def write_words(connection: sqlite3.Connection, words: Said) -> None:
    """Put words in the place of those that a history had."""
    connection.execute("DELETE FROM words")
    connection.executemany(
        "INSERT INTO words (subject, field, said_at) VALUES (?, ?, ?)",
        [(subject, field, said_at) for (subject, field), said_at in words.items()],
    )
