"""Drills that were played, as entries of the history: the raw events with what they came to.

A drill is no take of the piece: its rhythm is not the written one, and it would spoil the figures
of the section. So it is kept beside the takes, with every MIDI event that belongs to it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, fields

from companion.history.drill_days import DrillRecord
from companion.history.model import Entry, RawEvent

DRILLED = "drilled"
"""Kind of the entries."""

_FIGURES = tuple(
    field.name
    for field in fields(DrillRecord)
    if field.name not in {"take_id", "started_at", "zone"}
)


def entry_of(record: DrillRecord, piece_id: str, events: Sequence[RawEvent]) -> Entry:
    """Write a drill as an entry; inverse :func:`record_of` and :func:`events_of`."""
    values = asdict(record)
    content = {name: values[name] for name in _FIGURES}
    content["events"] = [[round(each.at_seconds, 6), each.message.hex()] for each in events]
    return Entry(
        entry_id=record.take_id,
        piece_id=piece_id,
        kind=DRILLED,
        happened_at=record.started_at,
        zone=record.zone,
        content=json.dumps(content),
    )


def record_of(entry: Entry) -> DrillRecord | None:
    """What a drill came to; None for an entry that makes no sense."""
    try:
        content = json.loads(entry.content)
        return DrillRecord(
            take_id=entry.entry_id,
            started_at=entry.happened_at,
            zone=entry.zone,
            **{name: content[name] for name in _FIGURES},
        )
    except (ValueError, KeyError, TypeError):
        return None


def events_of(entry: Entry) -> tuple[RawEvent, ...]:
    """The MIDI events of a drill; empty for an entry that makes no sense."""
    try:
        rows = json.loads(entry.content)["events"]
        return tuple(RawEvent(float(at), bytes.fromhex(message)) for at, message in rows)
    except (ValueError, KeyError, TypeError):
        return ()
