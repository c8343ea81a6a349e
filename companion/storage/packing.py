"""Raw MIDI events as bytes: the form in which takes are kept for ever.

One record per event: seconds since the take began (IEEE 754 double, little-endian), the number of
message bytes (one byte), the message bytes (MIDI 1.0). Records follow each other without gaps, so
chunks may be joined by joining their bytes. The form is exact, uncompressed and described here in
full, so that any program can read a history file in twenty years.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable

from companion.history.model import RawEvent

_HEAD = struct.Struct("<dB")


def pack_events(events: Iterable[RawEvent]) -> bytes:
    """Return the records of events; inverse of :func:`unpack_events`."""
    packed = bytearray()
    for event in events:
        packed += _HEAD.pack(event.at_seconds, len(event.message))
        packed += event.message
    return bytes(packed)


def unpack_events(packed: bytes) -> tuple[RawEvent, ...]:
    """Return the events of records; inverse of :func:`pack_events`.

    A record that is cut short ends the reading: what stands before it is still music.
    """
    events = []
    at, end, head_bytes = 0, len(packed), _HEAD.size
    while at + head_bytes <= end:
        at_seconds, length = _HEAD.unpack_from(packed, at)
        at += head_bytes
        if at + length > end:
            break
        events.append(RawEvent(at_seconds, packed[at : at + length]))
        at += length
    return tuple(events)
