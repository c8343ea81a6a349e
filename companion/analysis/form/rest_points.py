"""How far the music comes to rest before each measure line, and what changes behind it.

Four things that can be seen in the notes are joined: silence or held notes before the line, a
fermata, a cadence, and a change of texture (how many notes, how long, how high in each hand)
between the measures before and after. Novelty of texture as a sign of borders follows Foote (ICME
2000); that long gaps part groups, Lerdahl and Jackendoff (1983), grouping rule 2.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from companion.analysis.form.cadences import Cadence, CadenceKind
from companion.score.model import Score, ScoreNote

_GAP, _FERMATA, _CADENCE, _TEXTURE = 0.4, 0.3, 0.3, 0.25
_CADENCE_WEIGHTS = {
    CadenceKind.PERFECT: 1.0,
    CadenceKind.HALF: 0.8,
    CadenceKind.IMPERFECT: 0.5,
    CadenceKind.DECEPTIVE: 0.1,
}
_TEXTURE_MEASURES = 4
_MUCH_NEW = 1.5
_HEARD_GAP, _CLEAR_CHANGE = 0.2, 0.6  # what is told in words


@dataclass(frozen=True, slots=True, kw_only=True)
class RestPoint:
    """What speaks for an articulation at the beginning of one measure.

    Parameters
    ----------
    rest
        All of it together: 0 in running music, 1 and more at a clear close.
    gap
        Share of the measure before in which nothing new is struck, beyond the usual.
    fermata
        Whether a fermata stands in the measure before.
    cadence
        The cadence that the line follows, None for none.
    texture
        How different the measures behind are from those before, 0 to 1.
    """

    rest: float
    gap: float
    fermata: bool
    cadence: Cadence | None
    texture: float

    @property
    def reasons(self) -> tuple[str, ...]:
        """In words, the strongest first."""
        words = []
        if self.cadence is not None and self.cadence.kind is not CadenceKind.DECEPTIVE:
            words.append(f"after {self.cadence.in_words}")
        if self.fermata:
            words.append("after a fermata")
        if self.gap > _HEARD_GAP:
            words.append("the music pauses before it")
        if self.texture > _CLEAR_CHANGE:
            words.append("the texture changes")
        return tuple(words)


def rest_points(score: Score, cadences: Sequence[Cadence]) -> tuple[RestPoint, ...]:
    """One rest point for each measure of a score; nothing speaks for the first one."""
    by_measure: dict[int, list[ScoreNote]] = defaultdict(list)
    for note in score.notes:
        if note.expected and not note.grace:
            by_measure[note.measure_index].append(note)
    count = len(score.measures)
    gaps = [_gap(score, by_measure, index) for index in range(count)]
    usual = sorted(gaps)[count // 2] if gaps else 0.0
    fermatas = {place.measure_index for place in score.fermatas}
    closing = _closing(score, cadences)
    textures = _texture_changes(score, by_measure)
    points = []
    for index in range(count):
        gap = max(0.0, gaps[index] - usual)
        fermata = index - 1 in fermatas
        cadence = closing.get(index)
        weight = _CADENCE_WEIGHTS[cadence.kind] if cadence is not None else 0.0
        texture = float(textures[index])
        rest = _GAP * gap / 0.5 + _FERMATA * fermata + _CADENCE * weight + _TEXTURE * texture
        points.append(
            RestPoint(
                rest=rest if index else 0.0,
                gap=gap,
                fermata=fermata,
                cadence=cadence,
                texture=texture,
            )
        )
    return tuple(points)


def _gap(score: Score, by_measure: dict[int, list[ScoreNote]], index: int) -> float:
    """Share of the measure before a line that lies behind its last onset in both hands."""
    if not index:
        return 0.0
    before = score.measures[index - 1]
    if not before.duration_quarters:
        return 0.0
    last = max(
        (Fraction(note.measure_offset_quarters) for note in by_measure[index - 1]),
        default=Fraction(0),
    )
    return float((before.duration_quarters - last) / before.duration_quarters)


def _closing(score: Score, cadences: Sequence[Cadence]) -> dict[int, Cadence]:
    """The cadence that ends at each measure line: its chord is reached in the measure before.

    A cadence on the first beat of a measure may also close there and the new phrase begin at once;
    the line in front of it gets it too where no other claims that.
    """
    closing: dict[int, Cadence] = {}
    for cadence in cadences:
        closing[cadence.position.measure_index + 1] = cadence
    for cadence in cadences:
        if cadence.position.offset_quarters == 0 and cadence.kind is not CadenceKind.HALF:
            closing.setdefault(cadence.position.measure_index, cadence)
    closing.pop(len(score.measures), None)
    return closing


def _texture_changes(
    score: Score, by_measure: dict[int, list[ScoreNote]]
) -> npt.NDArray[np.float64]:
    count = len(score.measures)
    if not count:
        return np.zeros(0)
    rows = np.array([_texture(score, by_measure[index], index) for index in range(count)])
    spread = rows.std(axis=0)
    rows = rows / np.where(spread > 0, spread, 1)
    changes = np.zeros(count)
    for index in range(1, count):
        before = rows[max(0, index - _TEXTURE_MEASURES) : index].mean(axis=0)
        after = rows[index : index + _TEXTURE_MEASURES].mean(axis=0)
        changes[index] = np.abs(after - before).mean()
    result: npt.NDArray[np.float64] = np.minimum(1.0, changes / _MUCH_NEW)
    return result


def _texture(score: Score, notes: Sequence[ScoreNote], index: int) -> list[float]:
    """Onsets, thickness, height of each staff, shortest value: what the ear takes for texture."""
    quarters = float(score.measures[index].duration_quarters) or 1.0
    onsets = len({note.measure_offset_quarters for note in notes})
    upper = [note.pitch for note in notes if note.staff == 1]
    lower = [note.pitch for note in notes if note.staff != 1]
    lengths = [float(note.duration_quarters) for note in notes]
    return [
        np.log1p(onsets / quarters),
        len(notes) / max(1, onsets),
        float(np.mean(upper)) if upper else 60.0,
        float(np.mean(lower)) if lower else 60.0,
        np.log(max(0.05, float(np.median(lengths)))) if lengths else 0.0,
        float(bool(upper)) + float(bool(lower)),
    ]
