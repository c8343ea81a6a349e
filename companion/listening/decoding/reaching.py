"""Which states are worth a look at the next note."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.moves import MAX_STRIDE
from companion.listening.decoding.paths import COST, Paths

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.score_onsets import ScoreOnsets

_STEPS = np.arange(MAX_STRIDE + 1)[:, np.newaxis]


@dataclass(slots=True)
class Candidates:
    """States for the next note, and the cheapest way to each.

    Parameters
    ----------
    states
        In no order once jumps are among them.
    cost, move
        Of the cheapest way so far.
    stride
        By how many onsets more than one an advance moves on.
    """

    states: NDArray[np.intp]
    cost: NDArray[np.float64]
    move: NDArray[np.int64]
    stride: NDArray[np.intp]

    def add(self, states: NDArray[np.intp], cost: NDArray[np.float64], move: int) -> None:
        """Add states that are not among them."""
        self.states = np.concatenate((self.states, states))
        self.cost = np.concatenate((self.cost, cost))
        self.move = np.concatenate((self.move, np.full(len(states), move)))
        self.stride = np.concatenate((self.stride, np.zeros(len(states), np.intp)))


class Reach:
    """Finds the states that are worth reaching with the next note by a path that goes on."""

    def __init__(self, onsets: ScoreOnsets, costs: Costs) -> None:
        self._weak_cost = costs.beam - costs.wrong
        self._padding = np.flatnonzero(onsets.padding)
        self._marked = np.zeros(onsets.size, np.bool_)

    def states(self, paths: Paths, written: NDArray[np.intp]) -> NDArray[np.intp]:
        """The states, in rising order.

        A path that is nearly given up can only be saved by a right note, so it is only followed
        to where the key is written.
        """
        marked, active = self._marked, paths.active
        weak = paths.table[COST, active] > self._weak_cost
        faint = active[weak] + _STEPS
        marked[faint] = True
        saved = marked[written]
        marked[faint] = False
        marked[written] = saved
        marked[active[~weak] + _STEPS] = True
        marked[self._padding] = False
        states = marked.nonzero()[0]
        marked[states] = False
        return states
