"""Telling whether two takes hold the same playing, so that no recording is imported twice.

A file moves each message by up to half a tick, so times cannot be part of a fingerprint: a note on
the edge of a rounding would change it. The fingerprint is made of the strokes alone (key and
velocity in order); takes with the same one are then compared by time.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from companion.history.model import RawEvent

_NOTE_ON = 0x90  # MIDI 1.0: status byte of a note-on on channel 1

SAME_MOMENT_SECONDS = 0.002
"""Two files of the same playing differ by less: a tick is mostly 1 ms or shorter."""


def is_stroke(message: bytes) -> bool:
    """Say whether a message strikes a key; velocity 0 is a release (MIDI 1.0)."""
    return len(message) == 3 and message[0] & 0xF0 == _NOTE_ON and message[2] > 0


def strokes(events: Iterable[RawEvent]) -> tuple[RawEvent, ...]:
    """Return the events in which a key is struck."""
    return tuple(event for event in events if is_stroke(event.message))


class Fingerprint:
    """The fingerprint of a take while it is played, so that nothing waits for it at the end."""

    def __init__(self) -> None:
        self._digest = hashlib.sha256()

    def hear(self, message: bytes) -> None:
        """Take the next message."""
        if is_stroke(message):
            self._digest.update(message[1:])

    def __str__(self) -> str:
        return self._digest.hexdigest()


def fingerprint(events: Iterable[RawEvent]) -> str:
    """Return the fingerprint of a take: 64 hexadecimal digits, the same for the same strokes."""
    heard = Fingerprint()
    for event in events:
        heard.hear(event.message)
    return str(heard)


def same_playing(one: Iterable[RawEvent], other: Iterable[RawEvent]) -> bool:
    """Say whether two takes hold the same strokes at the same times."""
    first, second = strokes(one), strokes(other)
    return len(first) == len(second) and all(
        a.message[1:] == b.message[1:] and abs(a.at_seconds - b.at_seconds) <= SAME_MOMENT_SECONDS
        for a, b in zip(first, second, strict=True)
    )
