"""The written music as plain frozen values.

Conventions
-----------
- Score time is an exact ``Fraction`` of quarters, counted from the start of the first written
  measure *as printed*: no repeats taken, both endings counted, an upbeat measure counts its real
  length. Every note is keyed by (``measure_index``, ``measure_offset_quarters``);
  ``onset_quarters`` is the start of its measure plus that offset.
- ``measure_index`` counts written measures from 0; ``measure_number`` is the printed token
  ("0", "12", "12a") and need not be an integer.
- Pitches are MIDI note numbers 0-127 in sounding pitch; ``spelling`` is the written name ("Bb3").
- Ties are merged: a tie chain is one note with the whole length.
- Repeats are a list of measure indices in the order of playing; a performed place is
  (note, pass through the measure).
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from operator import attrgetter

from companion.processes.values import QuickPickle


class Hand(StrEnum):
    """Which hand is meant to play a note."""

    RIGHT = "right"
    LEFT = "left"


@dataclass(frozen=True, slots=True)
class ScoreNote(QuickPickle):
    """One attack that the score asks for.

    Parameters
    ----------
    note_id
        Unique in the score, the id of the notehead in the engraving.
    onset_quarters, duration_quarters
        Place and length as printed; a grace note has the onset of its main note and duration 0.
    pitch
        MIDI note number.
    staff, voice
        As written, counted from 1; staff 1 is the upper one.
    measure_index, measure_offset_quarters
        The key of the note.
    grace
        A grace note: expected, judged by pitch only.
    ornament
        Name of the ornament sign on the note ("trill", "mordent", "turn", ...), empty for none.
    hand
        Which hand plays it: from the staff, cross-staff marks and the user's own choice; None asks
        the reader of the value to go by the staff.
    spelling
        Written name with octave, "Bb3", "F##5"; empty when only the pitch is known.
    expected
        False for notes that may be played but are never missed (hidden and cue notes).
    arpeggiated
        Part of a chord with an arpeggio sign.
    tied_ids
        Ids of the noteheads tied on to this one, in order.
    """

    note_id: str
    onset_quarters: Fraction | float
    duration_quarters: Fraction | float
    pitch: int
    staff: int = 1
    voice: int = 1
    measure_index: int = 0
    measure_offset_quarters: Fraction | float = Fraction(0)
    grace: bool = False
    ornament: str = ""
    hand: Hand | None = None
    spelling: str = ""
    expected: bool = True
    arpeggiated: bool = False
    tied_ids: tuple[str, ...] = ()

    @property
    def playing_hand(self) -> Hand:
        """The hand to play it, by the staff when nothing else is known."""
        if self.hand is not None:
            return self.hand
        return Hand.RIGHT if self.staff == 1 else Hand.LEFT


@dataclass(frozen=True, slots=True, order=True)
class Position(QuickPickle):
    """A place in the written score: the key of notes, sections and marks."""

    measure_index: int
    offset_quarters: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure(QuickPickle):
    """One written measure.

    Parameters
    ----------
    index, number
        0-based place and printed number.
    start_quarters, duration_quarters
        Place as printed and real length (an upbeat is shorter than its meter).
    beats, beat_type
        The time signature in force, 6 and 8 for 6/8.
    key_fifths
        Sharps (positive) or flats (negative) of the key signature in force.
    """

    index: int
    number: str
    start_quarters: Fraction
    duration_quarters: Fraction
    beats: int = 4
    beat_type: int = 4
    key_fifths: int = 0

    @property
    def end_quarters(self) -> Fraction:
        """Where the next measure starts."""
        return self.start_quarters + self.duration_quarters

    @property
    def beat_quarters(self) -> Fraction:
        """Length of a counted beat: dotted in compound meters (6, 9, 12 over 8 or more)."""
        unit = Fraction(4, self.beat_type)
        compound = self.beats > 3 and self.beats % 3 == 0 and self.beat_type >= 8
        return unit * 3 if compound else unit


class CueKind(StrEnum):
    """Printed signs that may begin a section."""

    REHEARSAL_MARK = "rehearsal mark"
    DOUBLE_BAR = "double bar"
    REPEAT_START = "repeat start"
    REPEAT_END = "repeat end"
    ENDING = "ending"
    KEY_CHANGE = "key change"
    METER_CHANGE = "meter change"
    TEMPO_CHANGE = "tempo change"
    SEGNO = "segno"
    CODA = "coda"
    FINE = "fine"
    FERMATA = "fermata"
    HEADING = "heading"


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedCue:
    """A printed sign at the place where what follows it begins."""

    kind: CueKind
    position: Position
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoMark:
    """A tempo that holds from a place on; ``quarters_per_minute`` None where only words stand."""

    position: Position
    text: str
    quarters_per_minute: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """A piece as the program knows it: everything that reading a file gave.

    ``notes`` are sorted by (onset, graces first, pitch). ``playing_order`` lists measure indices
    in the order of playing, all repeats taken; without repeats it is 0, 1, 2, ... ``musicxml`` is
    the normalised source with the note ids of this table: the engraver's input.
    """

    title: str
    composer: str
    measures: tuple[Measure, ...]
    notes: tuple[ScoreNote, ...]
    tempo_marks: tuple[TempoMark, ...] = ()
    cues: tuple[PrintedCue, ...] = ()
    playing_order: tuple[int, ...] = ()
    fermatas: tuple[Position, ...] = ()
    remarks: tuple[str, ...] = ()
    content_hash: str = ""
    musicxml: bytes = field(default=b"", repr=False)

    @property
    def end_quarters(self) -> Fraction:
        """Length of the piece as printed."""
        return self.measures[-1].end_quarters if self.measures else Fraction(0)

    @property
    def end(self) -> Position:
        """The position just behind the last measure."""
        return Position(len(self.measures))

    def quarters_at(self, position: Position) -> Fraction:
        """Score time of a position; the end of the piece for a position behind it."""
        if position.measure_index >= len(self.measures):
            return self.end_quarters
        return self.measures[position.measure_index].start_quarters + position.offset_quarters

    def position_at(self, quarters: Fraction | float) -> Position:
        """The position of a score time; inverse of :meth:`quarters_at`, clipped to the piece."""
        exact = quarters if isinstance(quarters, Fraction) else Fraction(quarters)
        if exact >= self.end_quarters:
            return self.end
        index = max(0, bisect_right(self.measures, exact, key=attrgetter("start_quarters")) - 1)
        return Position(index, max(Fraction(0), exact - self.measures[index].start_quarters))
