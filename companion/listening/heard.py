"""From raw MIDI messages to notes and pedal movements.

Conventions
-----------
- Input is anything with ``at_seconds`` and ``message`` (2 or 3 bytes of one channel message), in
  the order of arrival. Times come out as they went in; for a take that is seconds from its first
  note.
- All channels are one keyboard: instruments in layer or split mode send on several. A note of a
  layer, struck again on another channel within :data:`SAME_STROKE_SECONDS`, is one note. The drum
  channel (10 of 16, General MIDI) is the instrument's own rhythm and is left out.
- A key struck again without having been released ends the note before it. A note that is never
  released ends with the last message. A release without a stroke is ignored.
- Durations are key-down times; pedals are kept apart, with their raw values.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from companion.listening.notes import HeardNote, PedalChange

SAME_STROKE_SECONDS = 0.02
"""A key cannot be struck twice in this time: fast repetition is about 15 strokes a second."""

DRUM_CHANNEL = 9
PEDAL_CONTROLLERS = (64, 66, 67)
"""MIDI 1.0 controllers: 64 damper, 66 sostenuto, 67 soft."""

_KEYS_UP_CONTROLLERS = (120, 123)  # all sound off, all notes off


class TimedBytes(Protocol):
    """A channel message with its time: live, from the history or from a file."""

    @property
    def at_seconds(self) -> float:
        """When it arrived."""

    @property
    def message(self) -> bytes:
        """Its bytes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What was played.

    Parameters
    ----------
    notes
        Sorted by onset, then pitch.
    pedals
        In order of time.
    struck_again, never_released, stray_releases, doubled
        How often the messages had to be read with care: keys struck again while down, notes
        without an end, ends without a note, strokes that came twice.
    """

    notes: tuple[HeardNote, ...]
    pedals: tuple[PedalChange, ...] = ()
    struck_again: int = 0
    never_released: int = 0
    stray_releases: int = 0
    doubled: int = 0


@dataclass(slots=True)
class _Down:
    """A key that is down: its place in the list of notes and who struck it."""

    index: int
    channel: int
    onset_seconds: float


class NoteBuilder:
    """Builds notes from messages one by one, while they are played.

    Parameters
    ----------
    ignore_drum_channel
        False takes channel 10 for a keyboard like any other.
    """

    def __init__(self, *, ignore_drum_channel: bool = True) -> None:
        self._ignored_channel = DRUM_CHANNEL if ignore_drum_channel else -1
        self._notes: list[HeardNote] = []
        self._pedals: list[PedalChange] = []
        self._down: dict[int, _Down] = {}
        self._last_seconds = float("-inf")
        self._struck_again = self._stray_releases = self._doubled = 0

    @property
    def keys_down(self) -> frozenset[int]:
        """Pitches of the keys that are down."""
        return frozenset(self._down)

    @property
    def note_count(self) -> int:
        """Keys struck so far."""
        return len(self._notes)

    def hear(self, event: TimedBytes) -> HeardNote | PedalChange | None:
        """Take one message.

        Returns
        -------
        HeardNote or PedalChange or None
            The note that was just struck, its duration still 0, or the pedal movement; None for
            everything else (a release shows in :meth:`heard`).
        """
        message, at = event.message, event.at_seconds
        kind, channel = message[0] & 0xF0, message[0] & 0x0F
        if channel == self._ignored_channel or not 0x80 <= message[0] < 0xF0:
            return None
        self._last_seconds = max(self._last_seconds, at)
        if kind == 0x90 and message[2] > 0:
            return self._strike(at, channel, message[1], message[2])
        if kind in (0x80, 0x90):
            self._release(at, channel, message[1])
        elif kind == 0xB0 and message[1] in PEDAL_CONTROLLERS:
            change = PedalChange(at, message[1], message[2])
            self._pedals.append(change)
            return change
        elif kind == 0xB0 and message[1] in _KEYS_UP_CONTROLLERS:
            for pitch in list(self._down):
                self._end(pitch, at)
        return None

    def heard(self) -> Heard:
        """Everything so far; keys that are still down last until the latest message."""
        notes = list(self._notes)
        for down in self._down.values():
            notes[down.index] = self._ended(notes[down.index], self._last_seconds)
        return Heard(
            notes=tuple(sorted(notes, key=lambda note: (note.onset_seconds, note.pitch))),
            pedals=tuple(self._pedals),
            struck_again=self._struck_again,
            never_released=len(self._down),
            stray_releases=self._stray_releases,
            doubled=self._doubled,
        )

    def _strike(self, at: float, channel: int, pitch: int, velocity: int) -> HeardNote | None:
        down = self._down.get(pitch)
        if down is not None:
            if at - down.onset_seconds < SAME_STROKE_SECONDS:
                self._doubled += 1
                return None
            self._struck_again += 1
            self._end(pitch, at)
        note = HeardNote(at, 0.0, pitch, velocity)
        self._down[pitch] = _Down(len(self._notes), channel, at)
        self._notes.append(note)
        return note

    def _release(self, at: float, channel: int, pitch: int) -> None:
        down = self._down.get(pitch)
        if down is None or down.channel != channel:
            self._stray_releases += 1
            return
        self._end(pitch, at)

    def _end(self, pitch: int, at: float) -> None:
        index = self._down.pop(pitch).index
        self._notes[index] = self._ended(self._notes[index], at)

    @staticmethod
    def _ended(note: HeardNote, at: float) -> HeardNote:
        lasted = max(0.0, at - note.onset_seconds)
        return HeardNote(note.onset_seconds, lasted, note.pitch, note.velocity)


def heard_from(events: Iterable[TimedBytes]) -> Heard:
    """Notes and pedals of a whole take.

    Channel 10 counts as a keyboard when nothing else was played: then it is no rhythm of the
    instrument but the way it is set up.
    """
    events = list(events)
    builder = NoteBuilder()
    for event in events:
        builder.hear(event)
    if builder.note_count == 0:
        builder = NoteBuilder(ignore_drum_channel=False)
        for event in events:
            builder.hear(event)
    return builder.heard()
