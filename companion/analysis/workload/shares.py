"""Features in units that make a clear difference each, and the one figure made of them.

No weights are published. Units and families are our own choice: a unit is what makes a clear
difference at the piano, four families (speed, ways of the hand, texture, reading) weigh the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

from companion.analysis.workload.features import HandFeatures, StretchFeatures
from companion.score.model import Hand


@dataclass(frozen=True, slots=True, kw_only=True)
class Shares:
    """What the difficulty of a stretch is made of, each in units of its own.

    ``right`` and ``left`` hands apart where the feature belongs to a hand.
    """

    speed: float = 0.0
    leaps_right: float = 0.0
    leaps_left: float = 0.0
    stretch_right: float = 0.0
    stretch_left: float = 0.0
    fingering_right: float = 0.0
    fingering_left: float = 0.0
    chords_right: float = 0.0
    chords_left: float = 0.0
    independence: float = 0.0
    polyrhythm: float = 0.0
    entropy: float = 0.0
    accidentals: float = 0.0
    novelty: float = 0.0

    @property
    def difficulty(self) -> float:
        """The mean of the four families."""
        ways = (
            self.leaps_right
            + self.leaps_left
            + self.stretch_right
            + self.stretch_left
            + self.fingering_right
            + self.fingering_left
        ) / 3
        texture = (
            (self.chords_right + self.chords_left) / 2 + self.independence + self.polyrhythm
        ) / 3
        reading = (self.entropy + self.accidentals + self.novelty) / 3
        return (self.speed + ways + texture + reading) / 4


def shares_of(features: StretchFeatures) -> Shares:
    """Put the features of a stretch into units that make a clear difference each."""
    right, left = features.right, features.left
    return Shares(
        speed=(right.note_rate + left.note_rate) / 5.0,  # notes a second
        leaps_right=right.leaps_a_second,  # leaps of an octave a second
        leaps_left=left.leaps_a_second,
        stretch_right=right.beyond_a_fifth / 4.0,  # semitones
        stretch_left=left.beyond_a_fifth / 4.0,
        fingering_right=right.fingering_points_a_second / 12.0,  # points a second
        fingering_left=left.fingering_points_a_second / 12.0,
        chords_right=max(0.0, right.polyphony - 1.0),  # notes more at once
        chords_left=max(0.0, left.polyphony - 1.0),
        independence=features.independence,
        polyrhythm=2.0 * features.polyrhythm,  # every second beat
        entropy=(right.pitch_entropy_bits + left.pitch_entropy_bits) / 4.0,  # bits
        accidentals=_altered(features) / 0.2,  # one note in five
        novelty=features.new_share,
    )


def typical_shares(measures: Sequence[tuple[Shares, int]]) -> Shares:
    """What a row of measures asks for: their mean, averaged with that of the hardest quarter.

    Parameters
    ----------
    measures
        The shares of each measure and how many notes it has, which are the weights of the mean;
        measures without notes are passed over.
    """
    played = [(shares, notes) for shares, notes in measures if notes]
    if not played:
        return Shares()
    total = sum(notes for _, notes in played)
    ordered = sorted((shares for shares, _ in played), key=lambda shares: -shares.difficulty)
    hardest = ordered[: max(1, len(ordered) // 4)]

    def typical(name: str) -> float:
        mean: float = sum(getattr(shares, name) * notes for shares, notes in played) / total
        peak: float = sum(getattr(shares, name) for shares in hardest) / len(hardest)
        return (mean + peak) / 2

    return Shares(**{field.name: typical(field.name) for field in fields(Shares)})


def alone(features: StretchFeatures, hand: Hand) -> StretchFeatures:
    """A stretch as if only one hand played."""
    silent = HandFeatures()
    return replace(
        features,
        right=features.right if hand is Hand.RIGHT else silent,
        left=features.left if hand is Hand.LEFT else silent,
        independence=0.0,
        polyrhythm=0.0,
        metric_divergence=0.0,
    )


def _altered(features: StretchFeatures) -> float:
    notes = features.notes
    right, left = features.right, features.left
    altered = right.altered_rate * right.notes + left.altered_rate * left.notes
    return altered / notes if notes else 0.0
