"""Cadences, found in the harmony and the outer voices.

- perfect: a dominant in root position, then the tonic in root position with the tonic on top;
- imperfect: the same progression with another note on top, or from an inverted dominant;
- half: the music comes to rest on a dominant triad in root position;
- deceptive: a dominant in root position, then the sixth degree.

Definitions as in W. Caplin, *Classical Form* (Oxford 1998), chapter 2. Whether a progression that
looks like a cadence ends a phrase is for the ear: it counts only where the music also rests.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from companion.analysis.harmony import Harmony, HarmonySpan
from companion.analysis.spelling import Key, Mode, pitch_class
from companion.score.model import Position, Score, ScoreNote

_SHORTEST_REST_BEATS = 1


class CadenceKind(StrEnum):
    """What a cadence ends on, and how."""

    PERFECT = "perfect cadence"
    IMPERFECT = "imperfect cadence"
    HALF = "half cadence"
    DECEPTIVE = "deceptive cadence"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cadence:
    """A cadence at the moment when its last chord is reached."""

    kind: CadenceKind
    quarters: Fraction
    position: Position
    key: Key

    @property
    def in_words(self) -> str:
        """With its article and key: "an imperfect cadence in E flat major"."""
        article = "an" if self.kind is CadenceKind.IMPERFECT else "a"
        return f"{article} {self.kind} in {self.key.spoken_name}"


_DOMINANTS = ("V", "VII")
_DOMINANT_QUALITIES = ("maj", "dom7", "dim", "dim7", "hdim7")


def find_cadences(score: Score, harmony: Harmony) -> tuple[Cadence, ...]:
    """The cadences of a piece, in order."""
    onsets = _melody(score)
    found: list[Cadence] = []
    for before, after in pairwise(harmony.spans):
        if before.key != after.key:
            continue
        kind = _kind(score, before, after, onsets)
        if kind is not None:
            found.append(
                Cadence(
                    kind=kind,
                    quarters=after.start_quarters,
                    position=after.position,
                    key=after.key,
                )
            )
    return tuple(found)


def _kind(
    score: Score,
    before: HarmonySpan,
    after: HarmonySpan,
    melody: dict[Fraction, ScoreNote],
) -> CadenceKind | None:
    dominant = before.degree in _DOMINANTS and before.quality in _DOMINANT_QUALITIES
    tonic_quality = "maj" if after.key.mode is Mode.MAJOR else "min"
    if dominant and after.degree == "I" and after.inversion == 0:
        if after.quality not in ("maj", tonic_quality) or not _on_beat(score, after):
            return None
        rooted = before.degree == "V" and before.inversion == 0
        top = melody.get(after.start_quarters)
        on_tonic = top is not None and top.pitch % 12 == pitch_class(after.key.tonic_fifths)
        return CadenceKind.PERFECT if rooted and on_tonic else CadenceKind.IMPERFECT
    if dominant and before.inversion == 0 and after.degree in ("VI", "bVI") and not after.inversion:
        return CadenceKind.DECEPTIVE if before.degree == "V" and _on_beat(score, after) else None
    on_dominant = after.degree == "V" and after.quality == "maj" and after.inversion == 0
    if on_dominant and not dominant and _comes_to_rest(score, after, melody):
        return CadenceKind.HALF
    return None


def _on_beat(score: Score, span: HarmonySpan) -> bool:
    measure = score.measures[span.position.measure_index]
    return span.position.offset_quarters % measure.beat_quarters == 0


def _comes_to_rest(score: Score, span: HarmonySpan, melody: dict[Fraction, ScoreNote]) -> bool:
    """Whether nothing is struck in the melody during the last beat of a chord."""
    beat = score.measures[span.position.measure_index].beat_quarters
    rest = _SHORTEST_REST_BEATS * beat
    if span.end_quarters - span.start_quarters < rest:
        return False
    return not any(span.end_quarters - rest < onset < span.end_quarters for onset in melody)


def _melody(score: Score) -> dict[Fraction, ScoreNote]:
    """The highest note that is struck at each onset."""
    top: dict[Fraction, ScoreNote] = {}
    for note in score.notes:
        if note.grace or not note.expected:
            continue
        onset = Fraction(note.onset_quarters)
        if onset not in top or note.pitch > top[onset].pitch:
            top[onset] = note
    return top
