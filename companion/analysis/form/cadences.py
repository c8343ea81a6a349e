"""Cadences, found in the harmony and the outer voices.

- perfect: a dominant in root position, then the tonic in root position with the tonic on top;
- imperfect: the same progression with another note on top, or from an inverted dominant;
- half: the music comes to rest on a dominant triad in root position;
- deceptive: a dominant in root position, then the sixth degree.

Definitions as in W. Caplin, *Classical Form* (Oxford 1998), chapter 2. Whether a progression that
looks like a cadence ends a phrase is for the ear: it counts only where the music also rests.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from companion.analysis.harmony import Harmony, HarmonySpan
from companion.analysis.spelling import Key, pitch_class
from companion.score.model import Position, Score

_REST_BEATS = 1
_WITHIN_BEATS = 2
_LONGER_THAN_USUAL = 2
_USUAL_OF = 8  # gaps before that are looked at


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
    upper = _Upper(score)
    found: list[Cadence] = []
    for before, after in pairwise(harmony.spans):
        if before.key != after.key:
            continue
        kind = _kind(score, before, after, upper)
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
    score: Score, before: HarmonySpan, after: HarmonySpan, upper: _Upper
) -> CadenceKind | None:
    dominant = before.degree in _DOMINANTS and before.quality in _DOMINANT_QUALITIES
    rooted = before.degree == "V" and before.inversion == 0
    if not _on_beat(score, after) or after.inversion:
        return None
    beat = score.measures[after.position.measure_index].beat_quarters
    if dominant and after.degree == "I":
        if after.quality not in ("maj", "min"):
            return None
        if rooted and upper.highest(after.start_quarters) == pitch_class(after.key.tonic_fifths):
            return CadenceKind.PERFECT
        return CadenceKind.IMPERFECT
    if rooted and dominant and after.degree in ("VI", "bVI"):
        return CadenceKind.DECEPTIVE
    on_dominant = after.degree == "V" and after.quality in ("maj", "dom7") and not dominant
    if on_dominant and upper.rests(after, beat):
        return CadenceKind.HALF
    return None


def _on_beat(score: Score, span: HarmonySpan) -> bool:
    measure = score.measures[span.position.measure_index]
    return span.position.offset_quarters % measure.beat_quarters == 0


class _Upper:
    """The highest notes of a piece: what is on top at a moment, and where they rest."""

    def __init__(self, score: Score) -> None:
        self._top: dict[Fraction, int] = {}
        right: set[Fraction] = set()
        for note in score.notes:
            if note.grace or not note.expected:
                continue
            onset = Fraction(note.onset_quarters)
            self._top[onset] = max(self._top.get(onset, 0), note.pitch)
            if note.staff == 1:
                right.add(onset)
        self._onsets = [*sorted(right or self._top), score.end_quarters]

    def highest(self, quarters: Fraction) -> int | None:
        """Pitch class of the highest note that is struck at a moment, None where none is."""
        pitch = self._top.get(quarters)
        return None if pitch is None else pitch % 12

    def rests(self, span: HarmonySpan, beat_quarters: Fraction) -> bool:
        """Whether the upper staff soon pauses in a chord, longer than it usually does."""
        first = bisect_left(self._onsets, span.start_quarters)
        last = min(span.end_quarters, span.start_quarters + _WITHIN_BEATS * beat_quarters)
        recent = self._onsets[max(0, first - _USUAL_OF) : first + 1]
        gaps = sorted(after - one for one, after in pairwise(recent))
        usual = gaps[len(gaps) // 2] if gaps else Fraction(0)
        place = first
        while place + 1 < len(self._onsets) and self._onsets[place] < last:
            gap = self._onsets[place + 1] - self._onsets[place]
            if gap >= _REST_BEATS * beat_quarters and gap >= _LONGER_THAN_USUAL * usual:
                return True
            place += 1
        return False
