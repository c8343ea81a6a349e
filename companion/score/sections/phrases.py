"""Dividing a stretch without printed cues into phrases of about equal length.

Bar lines are judged by what is easy to see: the music before comes to rest, a fermata stands there,
the measure behind brings back how the stretch began. A shortest path then weighs these against
regular lengths. Where nothing speaks for any bar line, the divisions are simply regular.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction

from companion.score.model import Position, Score
from companion.score.sections.borders import upbeat_before

PHRASE_MEASURES = 8
LONG_PHRASE_MEASURES = 16
LONG_STRETCH_MEASURES = 64
SHORTEST_PHRASE = 4
_LENGTH_COST = 4.0
_ODD_COST = 0.25


def divide_into_phrases(score: Score, start: Position, end: Position) -> tuple[Position, ...]:
    """Return the places, inside a stretch, where its phrases begin; none for a short stretch."""
    first = start.measure_index + (1 if start.offset_quarters else 0)
    if first == 0 and _is_upbeat(score):
        first = 1
    last = end.measure_index + (1 if end.offset_quarters else 0)
    count = last - first
    target = PHRASE_MEASURES if count <= LONG_STRETCH_MEASURES else LONG_PHRASE_MEASURES
    if count < 2 * SHORTEST_PHRASE or count <= 1.5 * target:
        return ()
    starts = phrase_starts(_evidence(score, first, last), target, _LENGTH_COST, _ODD_COST)
    return tuple(upbeat_before(score, Position(first + place)) for place in starts)


def _is_upbeat(score: Score) -> bool:
    measure = score.measures[0]
    return measure.duration_quarters < Fraction(4 * measure.beats, measure.beat_type)


def _evidence(score: Score, first: int, last: int) -> list[float]:
    """Per bar line from ``first`` to ``last``: how much speaks for a new phrase there."""
    onsets: dict[int, list[Fraction]] = defaultdict(list)
    sounding: dict[int, set[tuple[Fraction, int]]] = defaultdict(set)
    releases: dict[int, Fraction] = defaultdict(Fraction)
    for note in score.notes:
        index = note.measure_index
        if note.grace or not first <= index < last:
            continue
        offset = Fraction(note.measure_offset_quarters)
        onsets[index].append(offset)
        sounding[index].add((offset, note.pitch))
        releases[index] = max(releases[index], offset + Fraction(note.duration_quarters))
    calm = [_calm(score, index, onsets[index]) for index in range(first, last)]
    usual = sorted(calm)[len(calm) // 2]
    fermatas = {position.measure_index for position in score.fermatas}
    evidence = [0.0]
    for index in range(first + 1, last):
        before = score.measures[index - 1]
        value = max(0.0, calm[index - 1 - first] - usual)
        value += 0.5 if releases[index - 1] < before.duration_quarters else 0.0
        value += 1.0 if index - 1 in fermatas else 0.0
        value += 1.0 if sounding[index] and sounding[index] == sounding[first] else 0.0
        evidence.append(value)
    return [*evidence, 0.0]


def _calm(score: Score, index: int, onsets: list[Fraction]) -> float:
    """Share of a measure behind its last onset: near 0 in running music, 1 for a whole note."""
    duration = score.measures[index].duration_quarters
    if not duration:
        return 0.0
    return float((duration - max(onsets, default=Fraction(0))) / duration)


def phrase_starts(
    evidence: Sequence[float], target: int, length_cost: float, odd_cost: float
) -> list[int]:
    """Choose the bar lines that cost least: lengths far from the usual one cost, evidence pays.

    Parameters
    ----------
    evidence
        Per bar line what speaks for a phrase to begin there; those at both ends do not count.
    target
        The usual length, in measures.
    length_cost, odd_cost
        Cost of a phrase twice as long as usual, and of one whose measures are no multiple of 4:
        phrases of 4, 8, 12 are common practice.
    """
    count = len(evidence) - 1
    cost = [0.0] + [float("inf")] * count
    came_from = [0] * (count + 1)
    for here in range(SHORTEST_PHRASE, count + 1):
        for before in range(max(0, here - 2 * target), here - SHORTEST_PHRASE + 1):
            length = here - before
            price = cost[before] + length_cost * ((length - target) / target) ** 2
            price += (odd_cost if length % 4 else 0.0) - (evidence[here] if here < count else 0.0)
            if price < cost[here] - 1e-12:
                cost[here], came_from[here] = price, before
    starts: list[int] = []
    here = came_from[count]
    while here > 0:
        starts.append(here)
        here = came_from[here]
    return starts[::-1]
