"""What the competing paths remember: one row of numbers per state, and which states are alive.

A *path* is one explanation of all notes so far that ends at a state (an onset of a chain). Only the
best path to each state is kept, so the state names the path.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import NEVER
from companion.listening.decoding.moves import CHORD, MAX_STRIDE
from companion.listening.decoding.score_onsets import MAX_KEYS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.score_onsets import ScoreOnsets

COST, REACHED, TEMPO, LEFT, SPREAD, ADVANCES, OWED, LANDED, CAME_FROM = range(9)
COLUMNS = 9
"""What a path remembers: cost, when its onset was reached (seconds), seconds per quarter, keys of
its onset still to come, how far time may be off (squared logarithm), onsets passed since it began,
keys of the onsets just before that never came, where it began and where the player was before
(quarters)."""

SLIPPED = np.int64(1) << np.int64(MAX_KEYS)
"""In the mask of the keys heard: one of them was a slip."""

SETTLED_ONSETS = 3
"""After so many onsets a path is believed: its tempo, and the place where it began."""

RIVAL_COST = 6.0
"""A path elsewhere that costs this much more is no rival."""


@dataclass(frozen=True, slots=True)
class KeptPaths:
    """The paths of one moment, to come back to."""

    active: NDArray[np.intp]
    move: NDArray[np.int64]
    rows: NDArray[np.float64]
    heard: NDArray[np.int64]
    best: int


class Paths:
    """All paths after the notes heard so far.

    Attributes
    ----------
    table
        One row per column named above, one column per state; rows of dead states are stale except
        for their cost, which is ``NEVER``.
    heard
        Per state the keys of its onset that have sounded, as a mask, and ``SLIPPED``.
    active
        States with a path worth keeping, in no order.
    move
        How each active state's path took the last note.
    best
        The state of the likeliest path, -1 before there is one.
    """

    def __init__(self, onsets: ScoreOnsets, seconds_per_quarter: float) -> None:
        self._onsets = onsets
        # One path lies together in memory: they are fetched and put back state by state.
        self.table: NDArray[np.float64] = np.zeros((onsets.size, COLUMNS)).T
        self.table[COST] = NEVER
        self.table[TEMPO] = seconds_per_quarter
        self.heard = np.zeros(onsets.size, np.int64)
        self.active = np.zeros(0, np.intp)
        self.move = np.zeros(0, np.int64)
        self.best = -1

    @property
    def costs(self) -> NDArray[np.float64]:
        """Costs of the active states."""
        costs: NDArray[np.float64] = self.table[COST, self.active]
        return costs

    def replace(
        self,
        states: NDArray[np.intp],
        move: NDArray[np.int64],
        rows: NDArray[np.float64],
        heard: NDArray[np.int64],
        best: int,
    ) -> None:
        """Put these paths in the place of all others."""
        self.table[COST, self.active] = NEVER
        self.table[:, states] = rows
        self.heard[states] = heard
        self.active, self.move, self.best = states, move, best

    def keep(self) -> KeptPaths:
        """Everything known now."""
        rows = self.table[:, self.active]
        return KeptPaths(self.active, self.move, rows, self.heard[self.active], self.best)

    def go_back_to(self, kept: KeptPaths) -> None:
        """Forget what came after :meth:`keep`."""
        self.replace(kept.active, kept.move, kept.rows, kept.heard, kept.best)

    def begun(
        self,
        states: NDArray[np.intp],
        seconds: float,
        seconds_per_quarter: float,
        spread: float,
        came_from: float,
    ) -> NDArray[np.float64]:
        """Rows of paths that begin at some states."""
        rows = np.zeros((COLUMNS, len(states)))
        rows[REACHED] = seconds
        rows[TEMPO] = seconds_per_quarter
        rows[SPREAD] = spread
        rows[LEFT] = np.maximum(self._onsets.keys[states] - 1.0, 0.0)
        rows[LANDED] = self._onsets.state_quarters[states]
        rows[CAME_FROM] = came_from
        return rows

    def begin_at(
        self, state: int, seconds: float, seconds_per_quarter: float, spread: float
    ) -> None:
        """Let one path be certain: the player is at an onset, and all its keys were heard."""
        at = np.array([state])
        row = self.begun(at, seconds, seconds_per_quarter, spread, -1.0)
        row[ADVANCES], row[LEFT] = SETTLED_ONSETS, 0.0
        self.replace(at, np.array([CHORD]), row, np.array([SLIPPED - 1]), state)

    def is_settled(self) -> bool:
        """Whether no other place in the score competes with the best path."""
        if self.best < 0 or self.table[ADVANCES, self.best] < SETTLED_ONSETS:
            return False
        away = np.abs(self.active - self.best) > 2 * MAX_STRIDE
        costs = self.table[COST, self.active[away]]
        return not len(costs) or float(costs.min()) > RIVAL_COST

    def expected_wait_seconds(self) -> float:
        """Seconds from the onset of the best path to the next one, at its tempo."""
        o, state = self._onsets, self.best
        tempo = float(self.table[TEMPO, state])
        if state + 1 >= o.size or o.padding[state + 1]:
            return tempo
        return float(o.state_quarters[state + 1] - o.state_quarters[state]) * tempo
