"""The cheapest way to each state: where all that may have happened meets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import NEVER

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Ways:
    """Ways to go on that lead away from their path: by a written leap, or starting anew.

    Parameters
    ----------
    states
        Where they lead.
    cost, path, move
        What each costs, which path came there, and by which move.
    """

    states: NDArray[np.intp]
    cost: NDArray[np.float64]
    path: NDArray[np.intp]
    move: NDArray[np.int64]

    @property
    def lowest(self) -> float:
        """What the cheapest costs, ``NEVER`` when there is none."""
        return float(self.cost[self.cost.argmin()]) if len(self.cost) else NEVER


_NO_STATES = np.zeros(0, np.intp)
NO_WAYS = Ways(_NO_STATES, np.zeros(0), _NO_STATES, np.zeros(0, np.int64))


class CheapestWays:
    """Room for the cheapest way to each state of the score, used anew for each note."""

    def __init__(self, size: int) -> None:
        self._winner = np.zeros(size, np.intp)

    def choose(
        self, states: NDArray[np.intp], cost: NDArray[np.float64], beam: float, most: int
    ) -> tuple[NDArray[np.intp], float]:
        """Of ways to some states the cheapest to each, no dearer than the cheapest by the beam.

        Parameters
        ----------
        states, cost
            Where each way leads, and what it costs; of equals the first is taken.
        beam, most
            How much dearer than the cheapest, and how many of the best.

        Returns
        -------
        array, float
            Which ways, in rising order, and what the cheapest costs.
        """
        lowest = float(cost[cost.argmin()])
        within = (cost < lowest + beam).nonzero()[0]
        states, cost = states[within], cost[within]
        # The last to come to a state wins: the cheapest.
        dearest_first = cost.argsort(kind="stable")[::-1]
        self._winner[states[dearest_first]] = dearest_first
        chosen = (self._winner[states] == np.arange(len(states))).nonzero()[0]
        if len(chosen) > most:
            chosen = np.sort(chosen[cost[chosen].argpartition(most)[:most]])
        return within[chosen], lowest
