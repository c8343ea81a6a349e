"""Key and chord at every moment of a score.

Conventions
-----------
- Times are exact quarters from the first written note, as printed (see ``score.model``).
- The spans tile the piece from the beginning to the end without gaps; each lasts as long as key,
  chord and bass stay. They never end inside a half quarter, the grid of the analysis.
- ``degree`` counts against the parallel major scale in both modes (see ``chords``); ``numeral`` is
  spelled as it stands under a staff (see ``numerals``).
- A cadential six-four is the tonic in second inversion;
  :func:`companion.analysis.numerals.cadential_as_dominant` gives the other spelling.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby, pairwise

import numpy as np

from companion.analysis.augmented_sixths import spelled_augmented_sixth
from companion.analysis.chords import AUGMENTED_SIXTHS, Chord
from companion.analysis.decoder import (
    Course,
    HeardBass,
    Weights,
    best_course,
    best_inversions,
    member_places,
)
from companion.analysis.fixed_labels import FixedLabel, held_to
from companion.analysis.frames import LOWEST_PLACE, Floats, Frames, Whole, frames_of
from companion.analysis.network import Evidence, Model, evidence_of, shipped_model
from companion.analysis.numerals import numeral, written_numeral
from companion.analysis.spelling import Key
from companion.progress import Progress, Report, no_report
from companion.score.model import Position, Score

MOST_ALTERNATIVES = 3
LONGEST_PASSING_QUARTERS = 8
"""A key that lasts no longer, with one key on both sides, is touched in passing."""

HARMONY_VERSION = 2
"""Raise it whenever the analysis gives other labels: what is kept of it is made anew."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One way to hear a span.

    Parameters
    ----------
    key, degree, quality, inversion, numeral
        As in :class:`HarmonySpan`.
    confidence
        The share of belief that it gets, 0 to 1.
    """

    key: Key
    degree: str
    quality: str
    inversion: int
    numeral: str
    confidence: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HarmonySpan:
    """A stretch of music under one numeral.

    Parameters
    ----------
    start_quarters, end_quarters
        Exact borders.
    position
        The start as measure and offset.
    key
        The local key.
    degree
        ``V``, ``bVI``, ``V/V``, ``Ger``.
    quality
        One of :data:`companion.analysis.chords.QUALITIES`.
    inversion
        Which member of the chord is its bass, 0 the root.
    numeral
        All of it as written under the staff: ``V65/V``.
    confidence
        How sure the analysis is of key and chord, 0 to 1.
    alternatives
        Up to three other readings, the likeliest first.
    """

    start_quarters: Fraction
    end_quarters: Fraction
    position: Position
    key: Key
    degree: str
    quality: str
    inversion: int
    numeral: str
    confidence: float
    alternatives: tuple[Reading, ...] = ()

    @property
    def chord(self) -> Chord:
        """Degree and quality as one value."""
        return Chord(self.degree, self.quality)

    @property
    def is_applied(self) -> bool:
        """The chord borrows another degree's dominant: a passing tonicisation."""
        return "/" in self.degree

    @property
    def written(self) -> str:
        """The numeral as theorists write it by hand: "V4/3/V", "N6", "Ger6/5"."""
        return written_numeral(self.chord, self.inversion, self.key.mode)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyArea:
    """A stretch in one key: from one modulation to the next.

    Parameters
    ----------
    passing
        The key is touched only: the stretch is short, and the same key lies on both sides.
    """

    start_quarters: Fraction
    end_quarters: Fraction
    position: Position
    key: Key
    passing: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Harmony:
    """The harmony of a whole piece: spans that tile it, in order."""

    spans: tuple[HarmonySpan, ...]

    def span_at(self, quarters: Fraction | float) -> HarmonySpan | None:
        """The span in which a score time lies; None before the first and behind the last."""
        place = bisect_right(self.spans, quarters, key=lambda span: span.start_quarters) - 1
        if place < 0 or quarters >= self.spans[place].end_quarters:
            return None
        return self.spans[place]

    @property
    def key_areas(self) -> tuple[KeyArea, ...]:
        """The key plan: neighbouring spans of one key joined."""
        areas = []
        for key, group in groupby(self.spans, key=lambda span: span.key):
            spans = list(group)
            areas.append(
                KeyArea(
                    start_quarters=spans[0].start_quarters,
                    end_quarters=spans[-1].end_quarters,
                    position=spans[0].position,
                    key=key,
                )
            )
        return tuple(
            replace(area, passing=_is_passing(areas, place)) for place, area in enumerate(areas)
        )


def _is_passing(areas: Sequence[KeyArea], place: int) -> bool:
    if not 0 < place < len(areas) - 1:
        return False
    area = areas[place]
    short = area.end_quarters - area.start_quarters <= LONGEST_PASSING_QUARTERS
    return short and areas[place - 1].key == areas[place + 1].key


def analyse_harmony(
    score: Score,
    report: Report = no_report,
    *,
    fixed: Sequence[FixedLabel] = (),
    model: Model | None = None,
    weights: Weights | None = None,
) -> Harmony:
    """Work out key and chord at every moment.

    Parameters
    ----------
    score
        The written music; a score without measures or notes has no harmony.
    report
        Told after each step, and may cancel.
    fixed
        Labels that are known, such as those that the pianist corrected: what is around them is
        heard in their light. They themselves come out with their key, chord and bass on the grid
        of half quarters; :func:`companion.analysis.corrections.analysed_anew` puts them in with
        their exact borders.
    model, weights
        Other than the shipped ones, for measuring.
    """
    steps = ("Reading the notes", "Listening for chords", "Following the keys", "Naming")
    known, counted = model or shipped_model(), weights or Weights()
    report(Progress(done=0, total=len(steps), doing=steps[0]))
    if not any(note.expected and not note.grace for note in score.notes):
        return Harmony(spans=())
    frames = frames_of(score)
    report(Progress(done=1, total=len(steps), doing=steps[1]))
    evidence = held_to(evidence_of(frames, known), frames, known, fixed)
    report(Progress(done=2, total=len(steps), doing=steps[2]))
    course = best_course(evidence, known, counted)
    report(Progress(done=3, total=len(steps), doing=steps[3]))
    return Harmony(spans=_spans(score, frames, evidence, known, course, counted))


def _spans(
    score: Score,
    frames: Frames,
    evidence: Evidence,
    model: Model,
    course: Course,
    weights: Weights,
) -> tuple[HarmonySpan, ...]:
    tonics, items = course.tonics, course.items
    borders = np.flatnonzero((np.diff(tonics) != 0) | (np.diff(items) != 0)) + 1
    spans: list[HarmonySpan] = []
    for begin, end in pairwise((0, *borders.tolist(), len(tonics))):
        tonic, item = int(tonics[begin]), int(items[begin])
        belief = _belief(evidence.states[begin:end])
        bass = evidence.bass[begin:end]
        chord = model.chords[item]
        chord = spelled_augmented_sixth(frames, begin, end, tonic, chord) or chord
        heard = HeardBass(
            evidence=bass,
            lowest_pitches=frames.lowest_pitches[begin:end],
            lowest_places=frames.lowest_places[begin:end],
        )
        inversions = _inversions(heard, tonic, chord, model.inversions[item], weights)
        changes = np.flatnonzero(np.diff(inversions)) + 1
        readings = _readings(belief, bass, model, frames.reference_fifths)
        for first, last in pairwise((0, *changes.tolist(), end - begin)):
            start = frames.starts_quarters[begin + first]
            key = _key(tonic, item, model, frames.reference_fifths)
            inversion = int(inversions[first])
            spans.append(
                HarmonySpan(
                    start_quarters=start,
                    end_quarters=frames.ends_quarters[begin + last - 1],
                    position=score.position_at(start),
                    key=key,
                    degree=chord.degree,
                    quality=chord.quality,
                    inversion=inversion,
                    numeral=numeral(chord, inversion, key.mode),
                    confidence=round(float(belief[tonic, item]), 3),
                    alternatives=tuple(
                        reading
                        for reading in readings
                        if (reading.key, reading.degree, reading.quality)
                        != (key, chord.degree, chord.quality)
                    )[:MOST_ALTERNATIVES],
                )
            )
    return tuple(spans)


def _belief(states: Floats) -> Floats:
    """Probability of each tonic and item over a stretch of frames."""
    # neighbouring frames see mostly the same notes: their mean counts, not their product
    mean = states.mean(axis=0)
    shares = np.exp(mean - mean.max())
    result: Floats = shares / shares.sum()
    return result


def _key(tonic: int, item: int, model: Model, reference_fifths: int) -> Key:
    return Key(tonic + LOWEST_PLACE + reference_fifths, model.modes[item])


def _inversions(
    heard: HeardBass, tonic: int, chord: Chord, shares: Floats, weights: Weights
) -> Whole:
    if chord.quality in AUGMENTED_SIXTHS:
        return np.zeros(len(heard.evidence), dtype=np.int64)
    return best_inversions(heard, member_places(tonic, chord), shares, weights)


def _readings(belief: Floats, bass: Floats, model: Model, reference_fifths: int) -> list[Reading]:
    """The likeliest readings of a span, the chosen one among them."""
    most = MOST_ALTERNATIVES + 1
    flat = belief.reshape(-1)
    likeliest = np.argpartition(flat, -most)[-most:]
    likeliest = likeliest[np.argsort(-flat[likeliest])]
    lowest = bass.mean(axis=0)
    readings = []
    for state in likeliest.tolist():
        tonic, item = divmod(state, belief.shape[1])
        key, chord = _key(tonic, item, model, reference_fifths), model.chords[item]
        members = member_places(tonic, chord)
        inversion = 0
        if chord.quality not in AUGMENTED_SIXTHS:
            inversion = int(np.argmax(lowest[list(members)]))
        readings.append(
            Reading(
                key=key,
                degree=chord.degree,
                quality=chord.quality,
                inversion=inversion,
                numeral=numeral(chord, inversion, key.mode),
                confidence=round(float(flat[state]), 3),
            )
        )
    return readings
