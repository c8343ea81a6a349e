"""The features of a stretch of the score that make it hard, each with its formula.

Sources stand beside each feature; what has none is common practice. No published model explains
even half of the variance of difficulty (Chiu and Chen 2012: R2 = 39.9 and 38.8 %; Ramoneda et al.
2023 and 2024: about 40 %), so each feature is shown, not only their sum.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm, log, log2

from companion.analysis.workload.moments import Clock, Floats, Moments
from companion.analysis.workload.repetition import Material, MeasureMaterial
from companion.score.model import Hand, Position, Score

KEY_WIDTH_MM, OCTAVE_MM = 23.5, 165.0
"""Widths on a full-size keyboard (common knowledge of the trade)."""

_SMOOTHING = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class HandFeatures:
    """What one hand has to do in a stretch.

    Parameters
    ----------
    notes, onset_groups
        Counts.
    note_rate
        Notes a second at the target tempo, rests included.
    mean_ioi_seconds
        Mean time from one onset to the next of this hand; None with fewer than two.
    pitch_entropy_bits
        -sum p log2 p over the keys that are played.
    pitch_range
        Semitones from the lowest key to the highest.
    polyphony
        Notes per onset.
    stretch, wide_chords, beyond_a_fifth
        Widest chord in semitones; how many are wider than an octave; semitones by which chords are
        wider than a fifth, on average over all onsets.
    displacement_rate
        Sum of the weights of all steps over twice their number: 0 all steps below a fifth, 1 all an
        octave or more (Chiu and Chen 2012).
    leaps_a_second
        Half the sum of those weights each second: 1 is a leap of an octave every second.
    leap_index_bits
        log2(2 D / W) of the widest step: D its distance, W the width of a key (Fitts 1954, quoted
        from memory).
    altered_rate, black_rate
        Share of notes outside the key signature, and on black keys.
    fingering_points, fingering_points_a_second
        Points of the ergonomic model per note and per second.
    """

    notes: int = 0
    onset_groups: int = 0
    note_rate: float = 0.0
    mean_ioi_seconds: float | None = None
    pitch_entropy_bits: float = 0.0
    pitch_range: int = 0
    polyphony: float = 0.0
    stretch: int = 0
    wide_chords: int = 0
    beyond_a_fifth: float = 0.0
    displacement_rate: float = 0.0
    leaps_a_second: float = 0.0
    leap_index_bits: float = 0.0
    altered_rate: float = 0.0
    black_rate: float = 0.0
    fingering_points: float = 0.0
    fingering_points_a_second: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StretchFeatures:
    """What a stretch of the score asks for.

    Parameters
    ----------
    seconds
        How long it lasts at the target tempo.
    independence
        Onsets of only one hand as a share of all onsets, 0 where a hand rests throughout.
    metric_divergence
        Kullback-Leibler divergence (bits) of where in the measure the hands play, the right from
        the left, each smoothed by a hundredth of an onset; 0 where a hand rests throughout.
    polyrhythm
        Share of beats in which the hands divide the beat so that neither division fits the other.
    new_share
        Share of notes in measures whose material stands here first.
    distinct_measures
        Different measures as a share of all of them (both hands together); a transposed one is no
        other.
    effective_notes
        Notes to be learnt: those of material that stood before count half.
    """

    start: Position
    end: Position
    seconds: float
    right: HandFeatures
    left: HandFeatures
    independence: float = 0.0
    metric_divergence: float = 0.0
    polyrhythm: float = 0.0
    new_share: float = 0.0
    distinct_measures: float = 0.0
    effective_notes: float = 0.0

    @property
    def notes(self) -> int:
        """Notes of both hands."""
        return self.right.notes + self.left.notes

    def hand(self, hand: Hand) -> HandFeatures:
        """The features of one hand."""
        return self.right if hand is Hand.RIGHT else self.left


def features_of_stretch(
    score: Score,
    start: Position,
    end: Position,
    moments: Mapping[Hand, Moments],
    clock: Clock,
    materials: Mapping[Hand, Sequence[MeasureMaterial]],
) -> StretchFeatures:
    """Measure a half-open stretch of the score."""
    begin, stop = score.quarters_at(start), score.quarters_at(end)
    seconds = clock.at(stop) - clock.at(begin)
    slices = {hand: moments[hand].between(begin, stop) for hand in Hand}
    hands = {hand: _hand(moments[hand], *slices[hand], seconds, clock) for hand in Hand}
    onsets = {hand: set(moments[hand].onsets[slice(*slices[hand])]) for hand in Hand}
    both = bool(onsets[Hand.RIGHT]) and bool(onsets[Hand.LEFT])
    alone = len(onsets[Hand.RIGHT] ^ onsets[Hand.LEFT])
    together = len(onsets[Hand.RIGHT] | onsets[Hand.LEFT])
    new, effective, notes = _learning(moments, slices, materials)
    return StretchFeatures(
        start=start,
        end=end,
        seconds=seconds,
        right=hands[Hand.RIGHT],
        left=hands[Hand.LEFT],
        independence=alone / together if both else 0.0,
        metric_divergence=_divergence(moments, slices) if both else 0.0,
        polyrhythm=_polyrhythm(score, begin, stop, moments, slices) if both else 0.0,
        new_share=new / notes if notes else 0.0,
        distinct_measures=_distinct(score, start, end, materials),
        effective_notes=effective,
    )


def entropy_bits(counts: Sequence[int]) -> float:
    """Entropy of a distribution given by counts; 0 for none."""
    total = sum(counts)
    return -sum(n / total * log2(n / total) for n in counts if n) if total else 0.0


def leap_index_bits(semitones: float) -> float:
    """Index of difficulty of a leap after Fitts 1954, log2(2 D / W); 0 for no distance."""
    wide_mm = abs(semitones) * OCTAVE_MM / 12
    return max(0.0, log2(2 * wide_mm / KEY_WIDTH_MM)) if wide_mm else 0.0


def distinct_onsets(right: int, left: int) -> int:
    """How many onsets a beat has in which the hands play so many even notes against each other."""
    return right + left - gcd(right, left)


def is_polyrhythm(right: int, left: int) -> bool:
    """Whether two divisions of a beat are such that neither fits the other."""
    return right % left != 0 and left % right != 0


def _hand(moments: Moments, first: int, end: int, seconds: float, clock: Clock) -> HandFeatures:
    count = end - first
    if not count:
        return HandFeatures()

    def summed(running: Floats, start: int = first) -> float:
        return float(running[end] - running[start])

    notes, points = summed(moments.notes), summed(moments.points)
    pitches = [pitch for step in moments.pitches[first:end] for pitch in step]
    spans = [step[-1] - step[0] for step in moments.pitches[first:end]]
    steps, leaps = summed(moments.steps, first + 1), summed(moments.leaps, first + 1)
    entered = summed(moments.leaps)  # with the way into the stretch
    ioi = None
    if count > 1:
        ioi = (clock.at(moments.onsets[end - 1]) - clock.at(moments.onsets[first])) / (count - 1)
    return HandFeatures(
        notes=round(notes),
        onset_groups=count,
        note_rate=_over(notes, seconds),
        mean_ioi_seconds=ioi,
        pitch_entropy_bits=entropy_bits(list(Counter(pitches).values())),
        pitch_range=max(pitches) - min(pitches),
        polyphony=notes / count,
        stretch=max(spans),
        wide_chords=round(summed(moments.wide)),
        beyond_a_fifth=summed(moments.beyond) / count,
        displacement_rate=_over(leaps, 2 * steps),
        leaps_a_second=_over(entered / 2, seconds),
        leap_index_bits=leap_index_bits(_widest_step(moments, first, end)),
        altered_rate=summed(moments.altered) / notes,
        black_rate=summed(moments.black) / notes,
        fingering_points=points / notes,
        fingering_points_a_second=_over(points, seconds),
    )


def _over(value: float, by: float) -> float:
    return value / by if by > 0 else 0.0


def _widest_step(moments: Moments, first: int, end: int) -> int:
    steps = zip(moments.pitches[first : end - 1], moments.pitches[first + 1 : end], strict=True)
    return max((max(abs(b[0] - a[0]), abs(b[-1] - a[-1])) for a, b in steps), default=0)


def _learning(
    moments: Mapping[Hand, Moments],
    slices: Mapping[Hand, tuple[int, int]],
    materials: Mapping[Hand, Sequence[MeasureMaterial]],
) -> tuple[float, float, float]:
    """Notes of new material, notes with known material counted half, and all notes."""
    new = effective = notes = 0.0
    for hand, (first, end) in slices.items():
        for place in range(first, end):
            size = len(moments[hand].pitches[place])
            material = materials[hand][moments[hand].measures[place]]
            new += size if material.material is Material.NEW else 0
            effective += size * material.counts
            notes += size
    return new, effective, notes


def _distinct(
    score: Score,
    start: Position,
    end: Position,
    materials: Mapping[Hand, Sequence[MeasureMaterial]],
) -> float:
    last = min(len(score.measures), end.measure_index + (1 if end.offset_quarters else 0))
    measures = range(start.measure_index, last)
    seen = {tuple(materials[hand][index].figure for hand in Hand) for index in measures}
    return len(seen) / len(measures) if len(measures) else 0.0


def _divergence(moments: Mapping[Hand, Moments], slices: Mapping[Hand, tuple[int, int]]) -> float:
    places = {
        hand: Counter(moments[hand].offsets[first:end]) for hand, (first, end) in slices.items()
    }
    right, left = places[Hand.RIGHT], places[Hand.LEFT]
    every = set(right) | set(left)
    sums = [sum(count.values()) + _SMOOTHING * len(every) for count in (right, left)]
    total = 0.0
    for place in every:
        p = (right[place] + _SMOOTHING) / sums[0]
        q = (left[place] + _SMOOTHING) / sums[1]
        total += p * log(p / q, 2)
    return max(0.0, total)


def _polyrhythm(
    score: Score,
    begin: Fraction,
    stop: Fraction,
    moments: Mapping[Hand, Moments],
    slices: Mapping[Hand, tuple[int, int]],
) -> float:
    """Share of the beats in a stretch whose divisions do not fit each other."""
    measure = score.measures[score.position_at(begin).measure_index]
    beats = max(1.0, float((stop - begin) / measure.beat_quarters))
    return min(1.0, len(beats_against(score, moments, slices)) / beats)


def beats_against(
    score: Score,
    moments: Mapping[Hand, Moments],
    slices: Mapping[Hand, tuple[int, int]] | None = None,
) -> tuple[tuple[int, int], ...]:
    """The beats, as (measure index, beat from 0), that the hands divide against each other.

    Parameters
    ----------
    slices
        The moments of each hand that are looked at; all when left out.
    """
    divisions: dict[Hand, dict[tuple[int, int], int]] = {hand: {} for hand in Hand}
    for hand in Hand:
        places = range(*slices[hand]) if slices else range(len(moments[hand].onsets))
        for place in places:
            index = moments[hand].measures[place]
            beats_into = moments[hand].offsets[place] / score.measures[index].beat_quarters
            key = index, int(beats_into)
            divisions[hand][key] = lcm(divisions[hand].get(key, 1), beats_into.denominator)
    right, left = divisions[Hand.RIGHT], divisions[Hand.LEFT]
    shared = right.keys() & left.keys()
    return tuple(sorted(key for key in shared if is_polyrhythm(right[key], left[key])))
