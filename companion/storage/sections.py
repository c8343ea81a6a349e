"""Section maps: every version that was ever saved, the last one being in force.

A version is the JSON text of :mod:`companion.score.sections.document`.
"""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from datetime import datetime

from companion.score.sections.document import (
    section_map_from_document,
    section_map_to_document,
)
from companion.score.sections.section_map import SectionMap
from companion.storage.moments import moment_to_text, text_to_moment


@dataclass(frozen=True, slots=True)
class SavedVersion:
    """A saved version of a section map: its number, from 1, and when it was saved."""

    version: int
    saved_at: datetime


def section_map_to_text(section_map: SectionMap) -> str:
    """Write a section map as JSON; inverse :func:`text_to_section_map`."""
    document = section_map_to_document(section_map)
    return json.dumps(document, ensure_ascii=False, separators=(",", ":"))


def text_to_section_map(text: str) -> SectionMap:
    """Inverse of :func:`section_map_to_text`."""
    return section_map_from_document(json.loads(text))


def save_section_map(
    connection: sqlite3.Connection, piece_id: str, section_map: SectionMap, now: datetime
) -> None:
    """Add a version, unless it is the one in force already."""
    content = section_map_to_text(section_map)
    row = _last_version(connection, piece_id)
    number, last = row if row else (0, None)
    if content == last:
        return
    connection.execute(
        "INSERT INTO section_maps (piece_id, version, saved_at, content) VALUES (?, ?, ?, ?)",
        (piece_id, number + 1, moment_to_text(now), content),
    )


def section_map(
    connection: sqlite3.Connection, piece_id: str, version: int | None = None
) -> SectionMap | None:
    """Return the map in force, or an earlier version; None when there is none."""
    if version is None:
        row = _last_version(connection, piece_id)
        return text_to_section_map(row[1]) if row else None
    row = connection.execute(
        "SELECT version, content FROM section_maps WHERE piece_id = ? AND version = ?",
        (piece_id, version),
    ).fetchone()
    return text_to_section_map(row[1]) if row else None


def section_map_versions(connection: sqlite3.Connection, piece_id: str) -> tuple[SavedVersion, ...]:
    """Return all versions of a piece's map, oldest first."""
    rows = connection.execute(
        "SELECT version, saved_at FROM section_maps WHERE piece_id = ? ORDER BY version",
        (piece_id,),
    )
    return tuple(SavedVersion(version, text_to_moment(saved_at)) for version, saved_at in rows)


def _last_version(connection: sqlite3.Connection, piece_id: str) -> tuple[int, str] | None:
    row: tuple[int, str] | None = connection.execute(
        """
        SELECT version, content FROM section_maps
        WHERE piece_id = ? ORDER BY version DESC LIMIT 1
        """,
        (piece_id,),
    ).fetchone()
    return row
