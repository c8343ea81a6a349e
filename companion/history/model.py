"""Pieces and takes as plain frozen values.

A take is its raw MIDI events; everything else about it (match, measures, section results) is
derived and can be computed again. Moments are timezone-aware UTC datetimes together with the
player's zone name, because a practice *day* is local.

Results belong to a *stretch* of the score, not to the name or number of a section: an edit of one
border leaves the results of all other sections as they are, and undoing it finds the old ones.
The *basis* of a result names everything it was worked out from besides the take: the score, the
hands given to its notes and the version of the method. A result on another basis is out of date.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from uuid import uuid4

from companion.processes.values import QuickPickle


def new_id() -> str:
    """Return an id for a new piece or take: random, unique over all machines."""
    return uuid4().hex


class TakeSource(StrEnum):
    """Where the notes of a take came from."""

    PIANO = "piano"
    SCREEN = "on-screen keyboard"
    FILE = "file"
    DEMO = "demo data"


@dataclass(frozen=True, slots=True)
class RawEvent(QuickPickle):
    """One MIDI channel message as received: seconds since the take began and its 2 or 3 bytes."""

    at_seconds: float
    message: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece on the shelf.

    ``score_path`` is where the file was opened from; ``score_file`` is our own copy of its bytes in
    the history, so that the piece opens when the original is gone. ``part`` names the part that was
    chosen from a larger score.
    """

    piece_id: str
    title: str
    composer: str
    score_hash: str
    score_path: str = ""
    part: str = ""
    performance_date: date | None = None
    opened_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """Something that was done away from takes: a chord named, a drill played, a discomfort felt.

    Entries are added and never changed. ``content`` is JSON of whoever owns the ``kind``;
    ``piece_id`` is None for what belongs to no piece.
    """

    entry_id: str
    piece_id: str | None
    kind: str
    happened_at: datetime
    zone: str
    content: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """One attempt, from its first note to a silence.

    Parameters
    ----------
    take_id
        Random and unique over all machines.
    piece_id
        None while the take is not filed with a piece.
    started_at, zone
        Moment of the first note in UTC and the player's time zone then.
    duration_seconds
        To the last release.
    note_count
        Keys pressed.
    name, remark
        The pianist's own words.
    recovered
        True when the program ended before the take did, and the take was saved at the next start.
    content_hash
        Fingerprint of the notes, so that the same recording is not imported twice.
    deleted_at
        When the pianist threw it away; it is kept until the bin is emptied.
    from_memory
        Whether it was played without the score; otherwise with it, as far as anybody knows.
    """

    take_id: str
    piece_id: str | None
    started_at: datetime
    zone: str
    source: TakeSource
    duration_seconds: float
    note_count: int
    instrument: str = ""
    name: str = ""
    remark: str = ""
    recovered: bool = False
    events: tuple[RawEvent, ...] = field(default=(), repr=False)
    content_hash: str = ""
    deleted_at: datetime | None = None
    from_memory: bool = False

    @property
    def ended_at(self) -> datetime:
        """Moment of the last release."""
        return self.started_at + timedelta(seconds=self.duration_seconds)
