"""Which measures bring back material that stood before, exactly or moved to other keys.

A measure of one hand is the same material when its onsets, lengths and intervals are the same; it
is *exact* when the keys are the same too (in any octave it is a transposition). What is learnt once
need not be learnt again: it counts half (common practice, stated in the help page).
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from companion.score.model import Hand, Score, ScoreNote

REPEATED_COUNTS = 0.5


class Material(StrEnum):
    """What a measure of one hand is."""

    NEW = "new"
    REPEATED = "repeated"
    TRANSPOSED = "transposed"
    EMPTY = "empty"


@dataclass(frozen=True, slots=True)
class MeasureMaterial:
    """The material of one measure in one hand.

    Parameters
    ----------
    figure
        The same number for all measures with the same material, -1 for an empty one.
    first_measure
        Index of the measure where the material stood first.
    notes
        How many notes begin there.
    """

    material: Material
    figure: int
    first_measure: int
    notes: int

    @property
    def counts(self) -> float:
        """How much of its notes has to be learnt: 1, or half of it where it is known."""
        return 1.0 if self.material is Material.NEW else REPEATED_COUNTS


def materials_of(score: Score) -> dict[Hand, tuple[MeasureMaterial, ...]]:
    """The material of every measure, hand by hand."""
    found = {}
    for hand in Hand:
        by_measure: dict[int, list[ScoreNote]] = defaultdict(list)
        for note in score.notes:
            if note.playing_hand is hand and note.expected and not note.grace:
                by_measure[note.measure_index].append(note)
        found[hand] = _materials([by_measure[m.index] for m in score.measures])
    return found


def _materials(measures: list[list[ScoreNote]]) -> tuple[MeasureMaterial, ...]:
    figures: dict[tuple[tuple[Fraction, Fraction, int], ...], int] = {}
    stood: dict[int, int] = {}
    keys: dict[int, set[int]] = defaultdict(set)
    found = []
    for index, notes in enumerate(measures):
        if not notes:
            found.append(MeasureMaterial(Material.EMPTY, -1, index, 0))
            continue
        rising = sorted(notes, key=lambda note: (note.measure_offset_quarters, note.pitch))
        key = rising[0].pitch
        shape = tuple(
            (
                Fraction(note.measure_offset_quarters),
                Fraction(note.duration_quarters),
                note.pitch - key,
            )
            for note in rising
        )
        figure = figures.setdefault(shape, len(figures))
        if figure not in stood:
            material = Material.NEW
        else:
            material = Material.REPEATED if key in keys[figure] else Material.TRANSPOSED
        first = stood.setdefault(figure, index)
        keys[figure].add(key)
        found.append(MeasureMaterial(material, figure, first, len(notes)))
    return tuple(found)
