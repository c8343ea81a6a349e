"""What the competing paths remember: one column of numbers per path that is alive.

A *path* is one explanation of all notes so far that ends at a state (an onset of a chain). Only the
best path to each state is kept, so the state names the path.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.moves import CHORD, MAX_STRIDE
from companion.listening.decoding.score_onsets import MAX_KEYS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.score_onsets import ScoreOnsets

COST, REACHED, TEMPO, LEFT, SPREAD, ADVANCES, OWED, LANDED, CAME_FROM, BEGAN = range(10)
ROWS = 10
"""What a path remembers: cost, when its onset was reached (seconds), seconds per quarter, keys of
its onset still to come, how far time may be off (squared logarithm), onsets passed since it began,
keys of the onsets just before that never came, where it began and where the player was before
(quarters), and with which note of the take it began."""

SLIPPED = np.int64(1) << np.int64(MAX_KEYS)
"""In the mask of the keys heard: one of them was a slip."""

SETTLED_ONSETS = 3
"""After so many onsets a path is believed: its tempo, and the place where it began."""

RIVAL_COST = 6.0
"""A path elsewhere that costs this much more is no rival."""


@dataclass(frozen=True, slots=True)
class Steps:
    """How the paths took one note: what is needed to follow them back; see :class:`Paths`."""

    states: NDArray[np.intp]
    move: NDArray[np.int64]
    previous: NDArray[np.intp]

    def way_to(self, state: int) -> tuple[int, int]:
        """By which move the path to a state took the note, and where it was before."""
        at = int((self.states == state).argmax())
        return int(self.move[at]), int(self.previous[at])


@dataclass(frozen=True, slots=True)
class Paths:
    """All paths after the notes heard so far.

    Parameters
    ----------
    states
        Where they end, in no order.
    move
        How each took the last note (the codes of ``moves``).
    previous
        Where each was before that note, -1 at the start.
    table
        One row per quantity named above, one column per path.
    heard
        The keys of its onset that have sounded, as a mask, and ``SLIPPED``.
    best
        The likeliest path, counted among these; -1 when there is none.
    """

    states: NDArray[np.intp]
    move: NDArray[np.int64]
    previous: NDArray[np.intp]
    table: NDArray[np.float64]
    heard: NDArray[np.int64]
    best: int

    @property
    def best_state(self) -> int:
        """Where the likeliest path ends, -1 when there is none."""
        return int(self.states[self.best]) if self.best >= 0 else -1

    @property
    def costs(self) -> NDArray[np.float64]:
        """What each costs."""
        costs: NDArray[np.float64] = self.table[COST]
        return costs

    def move_of(self, path: int) -> int:
        """How a path took the last note."""
        return int(self.move[path])

    def previous_of(self, path: int) -> int:
        """Where a path was before that note."""
        return int(self.previous[path])

    def column_of(self, path: int) -> list[float]:
        """What a path remembers."""
        column: list[float] = self.table[:, path].tolist()
        return column

    def passed(self, paths: NDArray[np.intp]) -> NDArray[np.intp]:
        """How many onsets some paths have passed since they began, the first one not counted."""
        passed: NDArray[np.intp] = self.table[ADVANCES, paths].astype(np.intp)
        return passed

    def steps(self) -> Steps:
        """What is needed to follow them back."""
        return Steps(self.states, self.move, self.previous)

    def began_as_one(self, within: float) -> bool:
        """Whether all paths within some cost began with the same note."""
        began = self.table[BEGAN]
        return bool(((began == began[self.best]) | (self.table[COST] >= within)).all())

    def is_settled(self) -> bool:
        """Whether no other place in the score competes with the best path."""
        if self.best < 0 or self.table[ADVANCES, self.best] < SETTLED_ONSETS:
            return False
        near = self.states[self.table[COST] <= RIVAL_COST]
        return bool((np.abs(near - self.states[self.best]) <= 2 * MAX_STRIDE).all())


def no_paths() -> Paths:
    """Nothing known."""
    none = np.zeros(0, np.intp)
    return Paths(none, none, none, np.zeros((ROWS, 0)), none, -1)


def one_certain_path(
    onsets: ScoreOnsets, state: int, seconds: float, seconds_per_quarter: float, spread: float
) -> Paths:
    """The player is known to be at an onset, all its keys heard."""
    at = np.array([state])
    column = begun(onsets, at, seconds, seconds_per_quarter, spread, 0)
    column[ADVANCES], column[LEFT], column[CAME_FROM] = SETTLED_ONSETS, 0.0, -1.0
    return Paths(at, np.array([CHORD]), np.array([-1]), column, np.array([SLIPPED - 1]), 0)


def begun(
    onsets: ScoreOnsets,
    states: NDArray[np.intp],
    seconds: float,
    seconds_per_quarter: float,
    spread: float,
    note: int,
) -> NDArray[np.float64]:
    """Columns of paths that begin at some states; the caller adds the cost and where from."""
    table = np.zeros((ROWS, len(states)))
    table[REACHED] = seconds
    table[TEMPO] = seconds_per_quarter
    table[SPREAD] = spread
    table[LEFT] = onsets.others[states]
    table[LANDED] = onsets.state_quarters[states]
    table[BEGAN] = note
    return table
