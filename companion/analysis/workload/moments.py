"""What each hand does, moment by moment, as arrays with running sums.

A *moment* is a written onset of one hand with the notes that begin there; graces and notes that
nobody is expected to play are left out. A stretch of the score is a slice of moments, so that the
features of any stretch are differences of running sums.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby, pairwise

import numpy as np
from numpy.typing import NDArray

from companion.analysis.fingering.rules import is_black
from companion.score.model import Hand, Score, ScoreNote

Floats = NDArray[np.float64]

FIVE_FINGERS, OCTAVE = 7, 12
"""Semitones: a fifth lies under five fingers, an octave is the open hand."""

USUAL_QUARTERS_PER_MINUTE = 96.0
"""Where neither score nor pianist names a tempo (common practice: a moderate tempo)."""


@dataclass(frozen=True, slots=True, eq=False)
class Moments:
    """What one hand does.

    Parameters
    ----------
    onsets
        In quarters, rising.
    measures
        Per moment the index of its measure.
    offsets
        Per moment the distance from the bar line in quarters.
    pitches
        Per moment the MIDI note numbers, rising.
    notes, altered, black, wide, beyond, leaps, steps, points
        Running sums before each moment and behind the last one: notes; notes outside the key
        signature; notes on black keys; chords wider than an octave; semitones by which chords are
        wider than a fifth; weights of leaps; steps from moment to moment; points of the fingering.
    """

    onsets: tuple[Fraction, ...]
    measures: tuple[int, ...]
    offsets: tuple[Fraction, ...]
    pitches: tuple[tuple[int, ...], ...]
    notes: Floats
    altered: Floats
    black: Floats
    wide: Floats
    beyond: Floats
    leaps: Floats
    steps: Floats
    points: Floats

    def between(self, start_quarters: Fraction, end_quarters: Fraction) -> tuple[int, int]:
        """The half-open slice of moments in a stretch."""
        return bisect_left(self.onsets, start_quarters), bisect_left(self.onsets, end_quarters)


@dataclass(frozen=True, slots=True, eq=False)
class Clock:
    """When each place of the score comes at the target tempi: seconds without repeats."""

    quarters: Floats
    seconds: Floats

    def at(self, quarters: Fraction | float) -> float:
        """Seconds from the beginning to a place."""
        return float(np.interp(float(quarters), self.quarters, self.seconds))


def moments_of(score: Score, hand: Hand, points_of_note: Mapping[str, int]) -> Moments:
    """Lay out one hand of a score.

    Parameters
    ----------
    points_of_note
        Points of the fingering by note id; notes that are missing have none.
    """
    mine = [
        note
        for note in score.notes
        if note.playing_hand is hand and note.expected and not note.grace
    ]
    together = [list(step) for _, step in groupby(mine, key=lambda note: note.onset_quarters)]
    diatonic = {fifths: _diatonic(fifths) for fifths in range(-8, 9)}
    altered, black = [], []
    for step in together:
        scale = diatonic[_signature(score, step[0])]
        altered.append(sum(note.pitch % 12 not in scale for note in step))
        black.append(sum(is_black(note.pitch) for note in step))
    pitches = [tuple(sorted(note.pitch for note in step)) for step in together]
    spans = [step[-1] - step[0] for step in pitches]
    leaps = [0.0, *(leap_weight(a, b) for a, b in pairwise(pitches))]
    return Moments(
        onsets=tuple(Fraction(step[0].onset_quarters) for step in together),
        measures=tuple(step[0].measure_index for step in together),
        offsets=tuple(Fraction(step[0].measure_offset_quarters) for step in together),
        pitches=tuple(pitches),
        notes=_running([len(step) for step in pitches]),
        altered=_running(altered),
        black=_running(black),
        wide=_running([span > OCTAVE for span in spans]),
        beyond=_running([max(0, span - FIVE_FINGERS) for span in spans]),
        leaps=_running(leaps),
        steps=_running([0, *([1] * (len(pitches) - 1))] if pitches else []),
        points=_running(
            [sum(points_of_note.get(note.note_id, 0) for note in step) for step in together]
        ),
    )


def leap_weight(pitches: Sequence[int], next_pitches: Sequence[int]) -> float:
    """Weight of a step of the hand: 0 below a fifth, 1 below an octave, 2 from an octave on.

    Source: the displacement rate of Chiu and Chen 2012 (doi:10.1109/ISM.2012.11), with the largest
    distance between the extremes of successive groups.
    """
    low, high, next_low, next_high = (
        min(pitches),
        max(pitches),
        min(next_pitches),
        max(next_pitches),
    )
    wide = max(abs(next_low - low), abs(next_high - high))
    return 0.0 if wide < FIVE_FINGERS else 1.0 if wide < OCTAVE else 2.0


def clock_of(score: Score, quarters_per_minute: Sequence[float]) -> Clock:
    """When each measure comes, from a tempo for each."""
    places, seconds = [0.0], [0.0]
    for measure, tempo in zip(score.measures, quarters_per_minute, strict=True):
        places.append(float(measure.end_quarters))
        seconds.append(seconds[-1] + 60.0 * float(measure.duration_quarters) / tempo)
    return Clock(np.array(places), np.array(seconds))


def _running(values: Sequence[float]) -> Floats:
    return np.concatenate(([0.0], np.cumsum(np.array(values, np.float64))))


def _signature(score: Score, note: ScoreNote) -> int:
    if not score.measures:
        return 0
    return max(-8, min(8, score.measures[note.measure_index].key_fifths))


def _diatonic(fifths: int) -> frozenset[int]:
    """Pitch classes of the scale that a key signature stands for: seven fifths from F on."""
    return frozenset(7 * (fifths + step) % 12 for step in range(-1, 6))
