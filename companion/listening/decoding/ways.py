"""The cheapest way to each state: where all that may have happened meets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import NEVER

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Found:
    """The states reached, in rising order: cost, which path came there, and by which move."""

    states: NDArray[np.intp]
    cost: NDArray[np.float64]
    path: NDArray[np.intp]
    move: NDArray[np.int64]


class Ways:
    """Room for one way to each state of the score, used anew for each note."""

    def __init__(self, size: int) -> None:
        self._cost = np.full(size, NEVER)
        self._path = np.zeros(size, np.intp)
        self._move = np.zeros(size, np.int64)
        self.lowest = NEVER

    def offer(
        self,
        states: NDArray[np.intp],
        cost: NDArray[np.float64],
        path: NDArray[np.intp],
        move: NDArray[np.int64] | int,
    ) -> None:
        """Take these ways where nothing cheaper is known; each state once at most."""
        better = (cost < self._cost[states]).nonzero()[0]
        if not len(better):
            return
        to, cost = states[better], cost[better]
        self._cost[to] = cost
        self._path[to] = path[better]
        self._move[to] = move if isinstance(move, int) else move[better]
        self.lowest = min(self.lowest, float(cost.min()))

    def collect(self, beam: float, most: int) -> Found:
        """The best of them, no dearer than the cheapest by the beam; then forget all."""
        states = (self._cost < self.lowest + beam).nonzero()[0]
        cost = self._cost[states]
        if len(states) > most:
            kept = np.sort(cost.argpartition(most)[:most])
            states, cost = states[kept], cost[kept]
        found = Found(states, cost, self._path[states], self._move[states])
        self._cost.fill(NEVER)
        self.lowest = NEVER
        return found
