"""Choosing the borders that together have most for them.

A shortest path over the measure lines: each border costs :data:`BORDER_COST` and brings the weight
of its evidence; sections that are short for the piece cost extra. The division is thus the best of
all, not the best one border at a time.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import exp

BORDER_COST = 3.0
_SHORT_COST = 6.0
_SHARE_OF_PIECE = 16
_LEAST, _MOST = 4, 10
_DOUBT = 1.2


def usual_shortest(measures: int) -> int:
    """Measures below which a section is short, in a stretch of so many measures."""
    return min(_MOST, max(_LEAST, measures // _SHARE_OF_PIECE))


def best_division(
    weights: Mapping[int, float], start: int, end: int, *, cost: float = BORDER_COST
) -> tuple[int, ...]:
    """The measures strictly inside a stretch at which sections begin.

    Parameters
    ----------
    weights
        What speaks for a border at each measure; elsewhere there can be none.
    start, end
        First measure of the stretch, and the one behind its last.
    cost
        What a border has to outweigh.
    """
    shortest = usual_shortest(end - start)
    places = [start, *sorted(place for place in weights if start < place < end), end]
    best, came_from = [0.0], [0]
    for here in range(1, len(places)):
        gain = weights[places[here]] - cost if places[here] != end else 0.0
        options = [
            best[before] - _short(places[here] - places[before], shortest) for before in range(here)
        ]
        chosen = max(range(here), key=lambda before: (options[before], before))
        best.append(options[chosen] + gain)
        came_from.append(chosen)
    borders: list[int] = []
    here = came_from[-1] if len(places) > 1 else 0
    while here:
        borders.append(places[here])
        here = came_from[here]
    return tuple(reversed(borders))


def _short(length: int, shortest: int) -> float:
    lacking = max(0, shortest - length) / shortest
    return _SHORT_COST * lacking


def confidence(weight: float, cost: float = BORDER_COST) -> float:
    """How sure a border is, 0 to 1, from its weight: a half where it only just pays."""
    return round(1 / (1 + exp(-(weight - cost) / _DOUBT)), 2)
