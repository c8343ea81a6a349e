"""Recorded takes as standard MIDI files: reading all kinds of them, writing our own.

Conventions
-----------
- A take begins with its first note: ``at_seconds`` of events and notes count from there, also when
  the file begins with a silence (:attr:`RecordedTake.lead_in_seconds`).
- Only channel messages are kept; lyrics, markers, system exclusive and meta events are read over.
- Our own files have one track, 9,600 ticks a quarter at 120 quarters a minute: a tick is 52 µs, so
  a message moves by at most 26 µs. The moment of the first note stands in a text event.
"""

from __future__ import annotations

import contextlib
import io
import itertools
import re
import stat
import struct
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import mido

from companion.errors import TakeUnreadable
from companion.history.model import RawEvent
from companion.listening.heard import PEDAL_CONTROLLERS, TimedBytes, heard_from
from companion.listening.notes import HeardNote, PedalChange
from companion.timebase import DEFAULT_MICROSECONDS_PER_QUARTER, TempoMap
from companion.whole_file import whole_file

MAX_FILE_BYTES = 4_000_000
"""An hour at the piano with a half-pedal is under 1 MB; a larger file is no take."""

TICKS_PER_QUARTER = 9600
_TICKS_PER_SECOND = TICKS_PER_QUARTER * 1_000_000 / DEFAULT_MICROSECONDS_PER_QUARTER
_LARGEST_DELTA_TICKS = 0x0FFFFFFF  # the largest variable-length quantity of a standard MIDI file

_STARTED = "Take started at"
_STARTED_TEXT = re.compile(rf"{_STARTED} (?P<moment>\S+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedTake:
    """A take out of a file.

    Parameters
    ----------
    notes, pedals
        What was played, in seconds from the first note.
    events
        The channel messages it was built from.
    started_at
        Moment of the first note with its zone, None where the file does not tell it.
    duration_seconds
        To the last release.
    lead_in_seconds
        Time of the first note in the file.
    remarks
        Plain sentences on what was unusual in the file.
    """

    notes: tuple[HeardNote, ...]
    pedals: tuple[PedalChange, ...]
    events: tuple[RawEvent, ...]
    started_at: datetime | None
    duration_seconds: float
    note_count: int
    lead_in_seconds: float = 0.0
    title: str = ""
    remarks: tuple[str, ...] = ()


def read_take(path: str | Path) -> RecordedTake:
    """Read a standard MIDI file of format 0, 1 or 2 as one take.

    Raises
    ------
    TakeUnreadable
        With one plain sentence: not there, too large, broken, cut off, or without a note.
    """
    path = Path(path)
    midi_file = _opened(path)
    try:
        timed = sorted(_timed_messages(midi_file), key=lambda pair: pair[0])
    except _NoTickLength as error:
        raise TakeUnreadable(f"“{path.name}” does not say how long its ticks are.") from error
    events, lead_in = _from_first_note(timed)
    if not events:
        raise TakeUnreadable(f"There are no notes in “{path.name}”.")
    heard = heard_from(events)
    remarks: list[str] = []
    if heard.never_released:
        remarks.append(f"{heard.never_released} notes have no end in the file.")
    if midi_file.type == 2 and len(midi_file.tracks) > 1:
        remarks.append("The file holds several separate tracks; they are taken one after another.")
    texts = [m.text for track in midi_file.tracks for m in track if m.type == "text"]
    names = [m.name for track in midi_file.tracks for m in track if m.type == "track_name"]
    return RecordedTake(
        notes=heard.notes,
        pedals=heard.pedals,
        events=events,
        started_at=_started_at(texts),
        duration_seconds=max(n.onset_seconds + n.duration_seconds for n in heard.notes),
        note_count=len(heard.notes),
        lead_in_seconds=lead_in,
        title=names[0].strip() if names else "",
        remarks=tuple(remarks),
    )


def write_take(
    path: str | Path,
    events: Iterable[TimedBytes],
    *,
    started_at: datetime | None = None,
    title: str = "",
) -> None:
    """Write the messages of a take as a standard MIDI file of format 0.

    The file appears whole or not at all. Messages that a MIDI file cannot hold are left out.

    Parameters
    ----------
    events
        Channel messages with seconds from the first note, in order of time.
    started_at
        Moment of the first note, with its zone.

    Raises
    ------
    OSError
        The folder cannot be written to.
    """
    track = mido.MidiTrack()
    if title:
        track.append(mido.MetaMessage("track_name", name=_latin(title), time=0))
    if started_at is not None:
        text = f"{_STARTED} {started_at.isoformat()}"
        track.append(mido.MetaMessage("text", text=text, time=0))
    tempo = DEFAULT_MICROSECONDS_PER_QUARTER
    track.append(mido.MetaMessage("set_tempo", tempo=tempo, time=0))
    now_ticks = 0
    for event in events:
        ticks = max(now_ticks, round(event.at_seconds * _TICKS_PER_SECOND))
        try:
            message = mido.Message.from_bytes(list(event.message))
        except (ValueError, IndexError):
            continue
        delta = min(ticks - now_ticks, _LARGEST_DELTA_TICKS)
        track.append(message.copy(time=delta))
        now_ticks += delta
    midi_file = mido.MidiFile(type=0, ticks_per_beat=TICKS_PER_QUARTER, tracks=[track])
    _write_whole(Path(path), midi_file)


# ---- reading


# What mido 1.3 raises for broken bytes, found by feeding it 20,000 broken files.
_BROKEN = (
    EOFError,
    OSError,
    ValueError,
    IndexError,
    KeyError,
    TypeError,
    struct.error,
    mido.midifiles.meta.KeySignatureError,
)


class _NoTickLength(Exception):
    """The head of a file gives its ticks no length."""


def _opened(path: Path) -> mido.MidiFile:
    content = _content(path)
    if not content.startswith(b"MThd"):
        raise TakeUnreadable(f"“{path.name}” is not a standard MIDI file.")
    try:
        return mido.MidiFile(file=io.BytesIO(content))
    except _BROKEN as error:
        raise TakeUnreadable(f"“{path.name}” is broken or cut off.") from error


def _content(path: Path) -> bytes:
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise TakeUnreadable(f"“{path.name}” is a folder, not a recorded take.")
        if not stat.S_ISREG(status.st_mode):  # a pipe or a device would block or never end
            raise TakeUnreadable(f"“{path.name}” is not a file, so there is no take in it.")
        if status.st_size > MAX_FILE_BYTES:
            raise TakeUnreadable(f"“{path.name}” is too large for a recorded take.")
        return path.read_bytes()
    except FileNotFoundError as error:
        raise TakeUnreadable(f"There is no file “{path.name}”.") from error
    except (OSError, ValueError) as error:
        raise TakeUnreadable(f"“{path.name}” cannot be opened.") from error


_Timed = tuple[float, bytes]


def _timed_messages(midi_file: mido.MidiFile) -> list[_Timed]:
    """All channel messages with their seconds in the file, track after track."""
    if midi_file.type != 2:
        to_seconds = _seconds_of_ticks(midi_file, midi_file.tracks)
        return [pair for track in midi_file.tracks for pair in _channel_messages(track, to_seconds)]
    timed: list[_Timed] = []
    start_seconds = 0.0
    for track in midi_file.tracks:  # format 2: independent sequences, each with its own tempo
        to_seconds = _seconds_of_ticks(midi_file, [track])
        timed += [(start_seconds + at, m) for at, m in _channel_messages(track, to_seconds)]
        start_seconds += to_seconds(sum(message.time for message in track))
    return timed


def _channel_messages(
    track: mido.MidiTrack, to_seconds: Callable[[int], float]
) -> Iterable[_Timed]:
    ticks = 0
    for message in track:
        ticks += message.time
        if not message.is_meta and message.type != "sysex" and hasattr(message, "channel"):
            yield to_seconds(ticks), bytes(message.bytes())


def _seconds_of_ticks(
    midi_file: mido.MidiFile, tracks: list[mido.MidiTrack]
) -> Callable[[int], float]:
    """Return the function from ticks to seconds: by tempo, or by film frames (SMPTE)."""
    division = midi_file.ticks_per_beat
    if division == 0:
        raise _NoTickLength
    if division < 0:
        return _frames_to_seconds(division)
    changes: list[tuple[int, int]] = []
    for track in tracks:
        ticks = 0
        for message in track:
            ticks += message.time
            if message.type == "set_tempo":
                changes.append((ticks, message.tempo))
    changes.sort(key=lambda change: change[0])
    return TempoMap(division, tuple(changes)).ticks_to_seconds


def _frames_to_seconds(division: int) -> Callable[[int], float]:
    """Standard MIDI files 1.0: high byte minus the frames a second, low byte ticks a frame."""
    frames_per_second = -(division >> 8)
    ticks_per_frame = division & 0xFF
    if ticks_per_frame == 0:
        raise _NoTickLength
    # 29 stands for drop-frame time code, which runs at 30000/1001 frames a second.
    rate = 30000 / 1001 if frames_per_second == 29 else float(frames_per_second)
    return lambda ticks: ticks / (rate * ticks_per_frame)


def _from_first_note(timed: list[_Timed]) -> tuple[tuple[RawEvent, ...], float]:
    """Events from the first note on, and where it was; pedals down before it stand at 0."""
    first = next((i for i, (_, m) in enumerate(timed) if m[0] & 0xF0 == 0x90 and m[2] > 0), None)
    if first is None:
        return (), 0.0
    start = timed[first][0]
    pedals: dict[tuple[int, int], bytes] = {}
    for _, message in timed[:first]:
        if message[0] & 0xF0 == 0xB0 and message[1] in PEDAL_CONTROLLERS:
            pedals[message[0], message[1]] = message
    down = (RawEvent(0.0, message) for message in pedals.values() if message[2])
    played = (RawEvent(at - start, message) for at, message in timed[first:])
    return tuple(itertools.chain(down, played)), start


def _started_at(texts: list[str]) -> datetime | None:
    for text in texts:
        found = _STARTED_TEXT.search(text)
        if found:
            with contextlib.suppress(ValueError):
                moment = datetime.fromisoformat(found["moment"])
                return moment if moment.tzinfo is not None else None
    return None


# ---- writing


def _latin(text: str) -> str:
    """Titles in a MIDI file are Latin-1; what it has no letter for becomes a question mark."""
    return text.encode("latin-1", "replace").decode("latin-1")


def _write_whole(path: Path, midi_file: mido.MidiFile) -> None:
    with whole_file(path, lasting=True) as unfinished, unfinished.open("wb") as file:
        midi_file.save(file=file)
