"""The written notes of a score as arrays: made once per score, used for every take of it.

Conventions
-----------
- A note is its index in ``score.notes``; an *onset* is its index in the rising sequence of
  different written onsets.
- Beats are counted from the bar line; in an upbeat measure, and in the second half of a measure
  that a repeat has cut, from the bar line that is missing.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from companion.analysis.grouping.runs import find_runs
from companion.score.model import CueKind, Hand, Measure, Position, Score

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

DEFAULT_QUARTERS_PER_MINUTE = 120.0


@dataclass(frozen=True, slots=True, eq=False)
class ScoreIndex:
    """Arrays over the notes and the onsets of a score; see :func:`index_score`.

    Parameters
    ----------
    note_quarters, note_onset, note_measure
        Per note: onset in quarters, index of the onset, index of the measure.
    note_right_hand, note_grace, note_expected, note_arpeggiated
        Per note: whether it is so.
    note_optional
        Per note: whether it stands in an ending that leads back, which is left out when the repeat
        is not taken.
    note_twin
        Per note: the same note of an earlier ending, -1 where there is none.
    onset_first_note
        Per onset: the first note written there.
    onset_quarters, onset_nominal, onset_on_beat
        Per onset: place in quarters, place in quarters stretched by the written tempi (a tempo half
        as fast makes quarters twice as long), whether it is on a beat.
    onset_beat_quarters
        Per onset: length of the counted beat there.
    onset_top, onset_bottom
        Per onset: highest and lowest expected note that is no grace, -1 where there is none.
    held_onsets
        Per onset: whether a fermata stands on it or before the next onset.
    runs
        The runs of equal notes, as note indices.
    """

    score: Score
    index_of_id: dict[str, int] = field(repr=False)
    note_quarters: Floats
    note_onset: Ints
    note_measure: Ints
    note_right_hand: Flags
    note_grace: Flags
    note_expected: Flags
    note_arpeggiated: Flags
    note_optional: Flags
    note_twin: Ints
    onset_first_note: Ints
    onset_quarters: Floats
    onset_nominal: Floats
    onset_on_beat: Flags
    onset_beat_quarters: Floats
    onset_top: Ints
    onset_bottom: Ints
    held_onsets: Flags
    runs: tuple[tuple[int, ...], ...]

    def notes_between(self, start: Position, end: Position) -> tuple[int, int]:
        """First note at or behind ``start`` and first note at or behind ``end``."""
        places = np.array([self.score.quarters_at(start), self.score.quarters_at(end)], np.float64)
        low, high = np.searchsorted(self.note_quarters, places, side="left")
        return int(low), int(high)


def index_score(score: Score) -> ScoreIndex:
    """Work out the arrays of a score; about 10 microseconds a note."""
    notes = score.notes
    count = len(notes)
    quarters = np.array([float(note.onset_quarters) for note in notes], np.float64)
    grace = np.array([note.grace for note in notes], np.bool_)
    expected = np.array([note.expected for note in notes], np.bool_)
    onset_quarters, first_note, note_onset = np.unique(
        quarters, return_index=True, return_inverse=True
    )
    note_onset = note_onset.reshape(count).astype(np.int64)
    top = np.full(len(onset_quarters), -1, np.int64)
    bottom = np.full(len(onset_quarters), -1, np.int64)
    for index, note in enumerate(notes):
        if note.grace or not note.expected:
            continue
        onset = note_onset[index]
        if top[onset] < 0 or note.pitch > notes[top[onset]].pitch:
            top[onset] = index
        if bottom[onset] < 0 or note.pitch < notes[bottom[onset]].pitch:
            bottom[onset] = index
    on_beat, beat_quarters = _beats(score, note_onset, len(onset_quarters))
    optional, twin = _endings(score)
    return ScoreIndex(
        score=score,
        index_of_id={note.note_id: index for index, note in enumerate(notes)},
        note_quarters=quarters,
        note_onset=note_onset,
        note_measure=np.array([note.measure_index for note in notes], np.int64),
        note_right_hand=np.array([n.playing_hand is Hand.RIGHT for n in notes], np.bool_),
        note_grace=grace,
        note_expected=expected,
        note_arpeggiated=np.array([note.arpeggiated for note in notes], np.bool_),
        note_optional=optional,
        note_twin=twin,
        onset_first_note=first_note.astype(np.int64),
        onset_quarters=onset_quarters,
        onset_nominal=_nominal(score, onset_quarters),
        onset_on_beat=on_beat,
        onset_beat_quarters=beat_quarters,
        onset_top=top,
        onset_bottom=bottom,
        held_onsets=_held(score, onset_quarters),
        runs=find_runs(notes),
    )


def _endings(score: Score) -> tuple[Flags, Ints]:
    """Which notes stand in an ending that leads back, and which repeat a note of such an ending."""
    optional = np.zeros(len(score.notes), np.bool_)
    twin = np.full(len(score.notes), -1, np.int64)
    cues = score.cues
    begins = [cue.position for cue in cues if cue.kind is CueKind.ENDING]
    opens = [cue.position for cue in cues if cue.kind is CueKind.REPEAT_START]
    for close in [cue.position for cue in cues if cue.kind is CueKind.REPEAT_END]:
        begin = max((place for place in begins if place < close), default=None)
        if begin is None or any(begin < place < close for place in opens):
            continue
        low, high = score.quarters_at(begin), score.quarters_at(close)
        length = high - low
        first: dict[tuple[Fraction | float, int], int] = {}
        for index, note in enumerate(score.notes):
            if low <= note.onset_quarters < high:
                optional[index] = True
                first[note.onset_quarters, note.pitch] = index
            elif high <= note.onset_quarters < high + length:
                twin[index] = first.get((note.onset_quarters - length, note.pitch), -1)
    return optional, twin


def _beats(score: Score, note_onset: Ints, onsets: int) -> tuple[Flags, Floats]:
    on_beat = np.zeros(onsets, np.bool_)
    beat_quarters = np.ones(onsets, np.float64)
    shifts = [_missing_quarters(score.measures, measure.index) for measure in score.measures]
    seen = -1
    for index, note in enumerate(score.notes):
        onset = int(note_onset[index])
        if onset == seen or note.measure_index >= len(score.measures):
            continue
        seen = onset
        beat = score.measures[note.measure_index].beat_quarters
        place = note.measure_offset_quarters + shifts[note.measure_index]
        on_beat[onset] = not place or place % beat == 0
        beat_quarters[onset] = float(beat)
    return on_beat, beat_quarters


def _missing_quarters(measures: tuple[Measure, ...], index: int) -> Fraction:
    """How much of the meter is missing before the first note of an incomplete measure."""
    measure = measures[index]
    full = Fraction(4 * measure.beats, measure.beat_type)
    missing = full - measure.duration_quarters
    if missing <= 0:
        return Fraction(0)
    if index == 0:
        cut = (
            len(measures) > 1 and measure.duration_quarters + measures[1].duration_quarters == full
        )
        return Fraction(0) if cut else missing
    before = measures[index - 1]
    second_half = before.duration_quarters + measure.duration_quarters == full
    return before.duration_quarters if second_half else Fraction(0)


def _nominal(score: Score, onset_quarters: Floats) -> Floats:
    """Quarters stretched by the written tempi, in units of the first written tempo."""
    marks = [
        (float(score.quarters_at(mark.position)), mark.quarters_per_minute)
        for mark in score.tempo_marks
        if mark.quarters_per_minute
    ]
    if len(marks) < 2 or not len(onset_quarters):
        return onset_quarters.copy()
    places = [0.0]
    tempi = [marks[0][1]]
    for place, tempo in marks:
        if place > places[-1]:
            places.append(place)
            tempi.append(tempo)
        else:
            tempi[-1] = tempo
    stretch = np.array([tempi[0] / tempo for tempo in tempi], np.float64)
    ends = np.append(np.array(places[1:], np.float64), max(onset_quarters[-1], places[-1]) + 1.0)
    lengths = (ends - np.array(places, np.float64)) * stretch
    nominal_at = np.concatenate(([0.0], np.cumsum(lengths)))
    result: Floats = np.interp(onset_quarters, np.append(places, ends[-1]), nominal_at)
    return result


def _held(score: Score, onset_quarters: Floats) -> Flags:
    held = np.zeros(len(onset_quarters), np.bool_)
    for position in score.fermatas:
        place = float(score.quarters_at(position))
        onset = int(np.searchsorted(onset_quarters, place, side="right")) - 1
        if onset >= 0:
            held[onset] = True
    return held
