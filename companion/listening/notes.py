"""The played music and what the program says of it, as plain frozen values.

Conventions
-----------
- Clock time is seconds from the first note of the take.
- ``played`` is the index of a note in the sequence of heard notes, sorted by onset.
- Durations are key-down times; the pedal is kept apart.
- Verdicts are those of the glossary: *right* (the note that was written), *wrong* (another key
  stands for a written note), *added* (stands for nothing), *ornament* (part of an ornament);
  written notes of a passage without a played note are *missed*.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from companion.score.model import ScoreNote as ScoreNote  # the other half of every comparison


@dataclass(frozen=True, slots=True)
class HeardNote:
    """One key pressed: onset and key-down time in seconds, MIDI pitch, velocity 1-127."""

    onset_seconds: float
    duration_seconds: float
    pitch: int
    velocity: int = 64


@dataclass(frozen=True, slots=True)
class PedalChange:
    """A pedal movement: ``controller`` 64 damper, 66 sostenuto, 67 soft; ``value`` 0-127."""

    at_seconds: float
    controller: int
    value: int


class Verdict(StrEnum):
    """What a played note is."""

    RIGHT = "right"
    WRONG = "wrong"
    ADDED = "added"
    ORNAMENT = "ornament"


class Hands(StrEnum):
    """Which hands a passage was played with."""

    BOTH = "both"
    RIGHT = "right"
    LEFT = "left"


class Beginning(StrEnum):
    """How a passage began; GOES_ON where the score itself leads there, as in a repeat."""

    START = "start"
    RESTART = "restart"
    JUMP = "jump"
    GOES_ON = "goes on"


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedNote:
    """A played note and its verdict.

    ``note_id`` and the fields of place are those of the written note it stands for, None for an
    added note; an ornament note carries the note it adorns. ``score_index`` is that note's index
    in the sequence that was given to the matcher.
    """

    played: int
    onset_seconds: float
    pitch: int
    verdict: Verdict
    passage: int
    score_index: int | None = None
    note_id: str | None = None
    measure_index: int | None = None
    offset_quarters: Fraction | None = None
    expected_pitch: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MissedNote:
    """A written note that was not played in a passage.

    ``before_played`` is the index of the next note that was played, the number of heard notes when
    none came after.
    """

    score_index: int
    note_id: str
    measure_index: int
    offset_quarters: Fraction
    pitch: int
    passage: int
    before_played: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """A stretch of a take without a jump: played notes ``first_played`` to ``last_played``.

    A passage is a walk along the printed page, so that it has every written note once. Where the
    player follows a repeat another one begins, which goes on from the one before.

    ``from_quarters`` and ``to_quarters`` are the first and last written onset that it covers.
    """

    index: int
    first_played: int
    last_played: int
    from_quarters: Fraction
    to_quarters: Fraction
    from_measure_index: int
    to_measure_index: int
    hands: Hands
    began_with: Beginning


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """A take compared with a score: played notes judged, passages with their missed notes."""

    notes: tuple[JudgedNote, ...]
    missed: tuple[MissedNote, ...]
    passages: tuple[Passage, ...]


class PlaceEvent(StrEnum):
    """What the last note told about where the player is."""

    GOES_ON = "goes on"
    RESTART = "restart"
    JUMP = "jump"
    LOST = "lost"
    FOUND = "found"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where the player is, after one more note.

    Parameters
    ----------
    onset_quarters
        Written onset of the note just played, as printed.
    measure_index, measure_offset_quarters
        The same place as a key.
    confidence
        0 to 1: how much likelier this place is than all others together.
    hands
        The hands that seem to be playing.
    quarters_per_minute
        Local tempo, None before it can be told.
    event
        What happened with this note.
    ambiguous_with
        Onsets (quarters) of other places where the same music stands and the player could be too.
    verdict, score_index
        First judgement of the note: final verdicts come from the matching after the take.
    """

    onset_quarters: Fraction | float
    measure_index: int
    measure_offset_quarters: Fraction | float
    confidence: float
    hands: Hands
    quarters_per_minute: float | None
    event: PlaceEvent
    ambiguous_with: tuple[Fraction | float, ...] = ()
    verdict: Verdict = Verdict.RIGHT
    score_index: int | None = None
