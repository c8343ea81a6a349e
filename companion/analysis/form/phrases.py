"""Dividing sections into phrases: points of rest, parallel openings, regular lengths.

A shortest path over the measure lines of a section weighs what speaks for a phrase to begin there
against how far its length is from the usual one. Where nothing speaks for any line, the phrases are
simply regular: eight measures in most music (common practice), sixteen in very long stretches.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from companion.analysis.form.evidence import Evidence
from companion.analysis.form.measure_likeness import Floats
from companion.analysis.form.rest_points import RestPoint
from companion.score.sections.phrases import phrase_starts

PHRASE_MEASURES = 8
LONG_PHRASE_MEASURES = 16
LONG_STRETCH_MEASURES = 96
_LONGEST_UNDIVIDED = 12

_LENGTH_COST = 3.0
_ODD_COST = 0.2
_REST, _EVIDENCE, _PARALLEL = 1.2, 0.25, 1.0
_LIKE_FROM = 0.6
_PHRASE_LENGTHS = (4, 8, 16)


def divide_into_phrases(
    points: Sequence[RestPoint],
    evidence: Mapping[int, Evidence],
    likeness: Floats | None,
    start: int,
    end: int,
) -> tuple[int, ...]:
    """The measures strictly inside a section at which its phrases begin; none in a short one."""
    count = end - start
    if count <= _LONGEST_UNDIVIDED:
        return ()
    target = PHRASE_MEASURES if count <= LONG_STRETCH_MEASURES else LONG_PHRASE_MEASURES
    pays = [0.0] * (count + 1)
    for place in range(1, count):
        measure = start + place
        pays[place] = _REST * points[measure].rest
        if measure in evidence:
            pays[place] += _EVIDENCE * max(0.0, evidence[measure].weight)
        if likeness is not None:
            pays[place] += _PARALLEL * _parallel(likeness, start, measure)
    starts = phrase_starts(pays, target, _LENGTH_COST, _ODD_COST)
    return tuple(start + place for place in starts)


def _parallel(likeness: Floats, start: int, measure: int) -> float:
    """How much a measure begins like the one a phrase before it, 0 to 1."""
    last = likeness.shape[1] - 1
    like = max(
        (
            float(likeness[:, measure - length, measure].max())
            + float(likeness[:, measure - length + 1, min(last, measure + 1)].max())
            for length in _PHRASE_LENGTHS
            if measure - length >= start
        ),
        default=0.0,
    )
    return max(0.0, like / 2 - _LIKE_FROM) / (1 - _LIKE_FROM)
