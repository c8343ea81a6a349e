"""A match as compressed JSON: one list per field rather than one object per note.

The names of the lists are the field names of :mod:`companion.listening.notes`; offsets are exact
fractions of quarters as text ("3/2"). The form is derived data: when it changes, takes are matched
again, so nothing reads an older form.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Sequence
from fractions import Fraction
from operator import index
from typing import Any

from companion.listening.notes import (
    Beginning,
    Hands,
    JudgedNote,
    Match,
    MissedNote,
    Passage,
    Verdict,
)

_NOTE_FIELDS = (
    "played",
    "onset_seconds",
    "pitch",
    "verdict",
    "passage",
    "score_index",
    "note_id",
    "measure_index",
    "offset_quarters",
    "expected_pitch",
)
_MISSED_FIELDS = (
    "score_index",
    "note_id",
    "measure_index",
    "offset_quarters",
    "pitch",
    "passage",
    "before_played",
)
_PASSAGE_FIELDS = (
    "index",
    "first_played",
    "last_played",
    "from_quarters",
    "to_quarters",
    "from_measure_index",
    "to_measure_index",
    "hands",
    "began_with",
)
_FROM_TEXT: dict[str, Any] = {
    "verdict": Verdict,
    "hands": Hands,
    "began_with": Beginning,
    "offset_quarters": Fraction,
    "from_quarters": Fraction,
    "to_quarters": Fraction,
}

_Columns = dict[str, list[Any]]


def pack_match(match: Match) -> bytes:
    """Return a match as bytes; inverse :func:`unpack_match`."""
    tables = {
        "notes": _to_columns(match.notes, _NOTE_FIELDS),
        "missed": _to_columns(match.missed, _MISSED_FIELDS),
        "passages": _to_columns(match.passages, _PASSAGE_FIELDS),
    }
    return zlib.compress(json.dumps(tables, separators=(",", ":")).encode(), level=6)


def unpack_match(packed: bytes) -> Match:
    """Inverse of :func:`pack_match`."""
    tables: dict[str, _Columns] = json.loads(zlib.decompress(packed))
    return Match(
        notes=tuple(JudgedNote(**row) for row in _from_columns(tables["notes"])),
        missed=tuple(MissedNote(**row) for row in _from_columns(tables["missed"])),
        passages=tuple(Passage(**row) for row in _from_columns(tables["passages"])),
    )


def _to_columns(rows: Sequence[object], names: Sequence[str]) -> _Columns:
    return {name: [_to_json(getattr(row, name)) for row in rows] for name in names}


def _to_json(value: object) -> object:
    if value is None or isinstance(value, (int, float, str)):
        return value  # verdicts, hands and beginnings are text already
    if isinstance(value, Fraction):
        return str(value)
    return index(value)  # type: ignore[arg-type]  # a whole number of numpy, or a TypeError


def _from_columns(columns: _Columns) -> list[dict[str, Any]]:
    read = {name: _from_json(name, values) for name, values in columns.items()}
    return [dict(zip(read, row, strict=True)) for row in zip(*read.values(), strict=True)]


def _from_json(name: str, values: list[Any]) -> list[Any]:
    convert = _FROM_TEXT.get(name)
    if convert is None:
        return values
    return [None if value is None else convert(value) for value in values]
