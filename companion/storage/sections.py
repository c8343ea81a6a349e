"""Section maps: every version that was ever saved, the last one being in force.

A version is JSON text: a list of sections with the field names of
:class:`companion.score.section_map.Section`; a position is ``[measure_index, "offset"]`` with the
offset in quarters as an exact fraction ("3/2").
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Any

from companion.score.model import Position
from companion.score.section_map import Section, SectionMap
from companion.storage.moments import moment_to_text, text_to_moment


@dataclass(frozen=True, slots=True)
class SavedVersion:
    """A saved version of a section map: its number, from 1, and when it was saved."""

    version: int
    saved_at: datetime


def section_map_to_text(section_map: SectionMap) -> str:
    """Write a section map as JSON; inverse :func:`text_to_section_map`."""
    return json.dumps(
        [_section_to_json(section) for section in section_map.sections],
        ensure_ascii=False,
        separators=(",", ":"),
    )


def text_to_section_map(text: str) -> SectionMap:
    """Inverse of :func:`section_map_to_text`; fields that an older version lacks are empty."""
    return SectionMap(sections=tuple(_section_from_json(entry) for entry in json.loads(text)))


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


def _section_to_json(section: Section) -> dict[str, object]:
    written: dict[str, object] = {
        "section_id": section.section_id,
        "name": section.name,
        "start": _position_to_json(section.start),
        "end": _position_to_json(section.end),
    }
    if section.parent_id is not None:
        written["parent_id"] = section.parent_id
    if section.target_quarters_per_minute is not None:
        written["target_quarters_per_minute"] = section.target_quarters_per_minute
    for name in ("purpose", "how_to_play", "why"):
        if words := getattr(section, name):
            written[name] = words
    return written


def _section_from_json(entry: dict[str, Any]) -> Section:
    return Section(
        section_id=entry["section_id"],
        name=entry["name"],
        start=_position_from_json(entry["start"]),
        end=_position_from_json(entry["end"]),
        parent_id=entry.get("parent_id"),
        purpose=entry.get("purpose", ""),
        how_to_play=entry.get("how_to_play", ""),
        target_quarters_per_minute=entry.get("target_quarters_per_minute"),
        why=entry.get("why", ""),
    )


def _position_to_json(position: Position) -> list[object]:
    return [position.measure_index, str(position.offset_quarters)]


def _position_from_json(entry: Sequence[Any]) -> Position:
    return Position(int(entry[0]), Fraction(entry[1]))
