"""How like each measure is to each other one, in all twelve transpositions.

A measure is a table of what is struck when: eight places in the measure, twelve pitch classes.
Octaves do not count, so that a theme in another register is the same theme. Two measures are
compared by the angle between their tables; what is struck at all, wherever in the measure, and the
rhythm alone count a little too, so that a varied return is still heard as one.

The idea of comparing a piece with itself is Foote's (ACM Multimedia 1999), of doing so in all
transpositions Goto's (ICASSP 2003) and Müller and Clausen's (ISMIR 2007).
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import numpy.typing as npt

from companion.score.model import Measure, Score

Floats = npt.NDArray[np.float32]

PLACES = 8
PITCH_CLASSES = 12
_MOST_AT_ONCE = 2
_SHARES = {"struck": 0.7, "pitches": 0.2, "rhythm": 0.1}


def struck_tables(score: Score) -> Floats:
    """What is struck in each measure, shape (measures, PLACES, PITCH_CLASSES)."""
    tables = np.zeros((len(score.measures), PLACES, PITCH_CLASSES), dtype=np.float32)
    for note in score.notes:
        if note.grace or not note.expected:
            continue
        measure = score.measures[note.measure_index]
        share = (Fraction(note.measure_offset_quarters) + upbeat_padding(measure)) / full_length(
            measure
        )
        place = min(PLACES - 1, int(share * PLACES))
        tables[note.measure_index, place, note.pitch % PITCH_CLASSES] += 1
    return np.minimum(tables, _MOST_AT_ONCE)


def full_length(measure: Measure) -> Fraction:
    """How long a measure of this meter is, in quarters, cut short or not."""
    return Fraction(4 * measure.beats, measure.beat_type)


def upbeat_padding(measure: Measure) -> Fraction:
    """What an upbeat at the beginning of the piece lacks at its front, in quarters."""
    if measure.index:
        return Fraction(0)
    return max(Fraction(0), full_length(measure) - measure.duration_quarters)


def likeness_of(tables: Floats) -> Floats:
    """Likeness of each measure, moved up by so many semitones, to each other one.

    Returns
    -------
    array
        Shape (12, measures, measures): semitones, the measure that is moved, the other one; 0 for
        nothing in common to 1 for the same. A measure of rests is like no other.
    """
    count = len(tables)
    flat, pitches = tables.reshape(count, -1), tables.sum(axis=1)
    rhythm = (tables.sum(axis=2) > 0).astype(np.float32)
    result = np.empty((PITCH_CLASSES, count, count), dtype=np.float32)
    flat_unit, pitch_unit, rhythm_unit = (_unit(each) for each in (flat, pitches, rhythm))
    same_rhythm = _SHARES["rhythm"] * (rhythm_unit @ rhythm_unit.T)
    for semitones in range(PITCH_CLASSES):
        moved = np.roll(flat_unit.reshape(tables.shape), semitones, axis=2).reshape(count, -1)
        moved_pitches = np.roll(pitch_unit, semitones, axis=1)
        result[semitones] = (
            _SHARES["struck"] * (moved @ flat_unit.T)
            + _SHARES["pitches"] * (moved_pitches @ pitch_unit.T)
            + same_rhythm
        )
    return result


def _unit(rows: Floats) -> Floats:
    length = np.sqrt((rows**2).sum(axis=1, keepdims=True))
    result: Floats = rows / np.maximum(length, 1e-6)
    return result
