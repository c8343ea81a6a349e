"""A handful of paths, in plain numbers: each call of numpy would cost more than all of their work.

While a player goes on through the score some four paths are alive. :class:`FewSteps` takes the same
step as the decoder does in arrays (``staying``, ``strides``), for the notes at which nobody leaps
or starts anew; a test holds the two equal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import NEVER
from companion.listening.decoding.moves import (
    ADDED,
    ADVANCE,
    ADVANCE_WRONG,
    CHORD,
    MAX_STRIDE,
    WRONG_IN_CHORD,
)
from companion.listening.decoding.paths import (
    ADVANCES,
    BEGAN,
    COST,
    LEFT,
    OWED,
    REACHED,
    RIVAL_COST,
    SETTLED_ONSETS,
    SLIPPED,
    SPREAD,
    TEMPO,
    Paths,
)
from companion.listening.decoding.staying import OVERTIME, OVERTIME_SECONDS
from companion.listening.decoding.strides import (
    FASTEST,
    FIRST_CHANGE,
    LATER_CHANGE,
    LEAST_RATIO,
    SLOWEST,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.pitch_tables import PitchTables
    from companion.listening.decoding.score_onsets import ScoreOnsets
    from companion.listening.decoding.staying import Beside
    from companion.listening.decoding.strides import Strides

FEW = 16
"""So many paths are a handful."""

_SLIPPED = int(SLIPPED)

Row = tuple[int, int, int, int, list[float]]
"""A path: its state, how it took the last note, where it was before, the keys heard, its column."""


@dataclass(frozen=True, slots=True)
class FewPaths:
    """The same as :class:`companion.listening.decoding.paths.Paths`, one row per path.

    Parameters
    ----------
    rows
        The paths in no order.
    best
        The likeliest one, counted among these.
    """

    rows: list[Row]
    best: int

    @staticmethod
    def of(paths: Paths) -> FewPaths:
        """Write paths in plain numbers."""
        return FewPaths(rows_of(paths), paths.best)

    def arrays(self) -> Paths:
        """Write them in arrays."""
        states, move, previous, heard, columns = zip(*self.rows, strict=True)
        return Paths(
            np.array(states),
            np.array(move),
            np.array(previous),
            np.array(columns).T.copy(),
            np.array(heard),
            self.best,
        )

    @property
    def states(self) -> NDArray[np.intp]:
        """Where they end."""
        return np.array([row[0] for row in self.rows])

    @property
    def costs(self) -> NDArray[np.float64]:
        """What each costs."""
        return np.array([row[4][COST] for row in self.rows])

    @property
    def best_state(self) -> int:
        """Where the likeliest path ends."""
        return self.rows[self.best][0]

    def move_of(self, path: int) -> int:
        """How a path took the last note."""
        return self.rows[path][1]

    def previous_of(self, path: int) -> int:
        """Where a path was before that note."""
        return self.rows[path][2]

    def column_of(self, path: int) -> list[float]:
        """What a path remembers."""
        return self.rows[path][4]

    def passed(self, paths: NDArray[np.intp]) -> NDArray[np.intp]:
        """How many onsets some paths have passed since they began, the first one not counted."""
        return np.array([int(self.rows[path][4][ADVANCES]) for path in paths.tolist()])

    def began_as_one(self, within: float) -> bool:
        """Whether all paths within some cost began with the same note."""
        return len({row[4][BEGAN] for row in self.rows if row[4][COST] < within}) == 1

    def is_settled(self) -> bool:
        """Whether no other place in the score competes with the best path."""
        here, _, _, _, column = self.rows[self.best]
        return column[ADVANCES] >= SETTLED_ONSETS and not any(
            row[4][COST] <= RIVAL_COST and abs(row[0] - here) > 2 * MAX_STRIDE for row in self.rows
        )

    def way_to(self, state: int) -> tuple[int, int]:
        """By which move the path to a state took the last note, and where it was before."""
        for at, move, previous, _, _ in self.rows:
            if at == state:
                return move, previous
        raise KeyError(state)


def rows_of(paths: Paths, which: NDArray[np.intp] | slice = slice(None)) -> list[Row]:
    """Some of the paths in plain numbers."""
    columns = paths.table[:, which].T.tolist()
    lists = (paths.states, paths.move, paths.previous, paths.heard)
    return list(zip(*(each[which].tolist() for each in lists), columns, strict=True))


class FewSteps:
    """Steps of a handful of paths.

    Parameters
    ----------
    onsets, costs, strides
        The laid out score, the model, and what each advance skips.
    """

    def __init__(self, onsets: ScoreOnsets, costs: Costs, strides: Strides) -> None:
        self._onsets = onsets
        self._costs = costs
        self._strides = strides
        self._ahead: dict[int, list[tuple[int, float, float]]] = {}

    def go_on(
        self, paths: FewPaths, tables: PitchTables, seconds: float, beside: Beside
    ) -> tuple[list[Row], float]:
        """Stay or advance, the cheapest way to each state.

        Parameters
        ----------
        beside
            What a note costs that is added or late.

        Returns
        -------
        list, float
            The paths within the beam, and what the cheapest costs: this is taken off all of them.
        """
        found: dict[int, tuple[float, int, int]] = {}  # by state: cost, stride (0: stays), path
        moves: list[int] = []
        written, slip = tables.bits.item, tables.slip.item
        c = self._costs
        spread_off, most, missed, beam = (
            c.onset_spread_seconds, c.timing_most, c.missed_note, c.beam
        )  # fmt: skip
        dearest = NEVER
        for path, (state, _, _, heard, column) in enumerate(paths.rows):
            cost, move = self._stay(state, heard, column, tables, seconds, beside)
            moves.append(move)
            way = (cost, 0, path)
            if cost < dearest and (state not in found or way < found[state]):
                found[state] = way
                dearest = min(dearest, cost + beam)
            base = column[COST] + missed * column[LEFT]
            since, tempo, spread = seconds - column[REACHED], column[TEMPO], column[SPREAD]
            for stride, per_quarter, skip in self._strides_from(state):
                cost = base + skip
                if cost >= dearest:
                    continue
                rate = per_quarter / tempo
                ratio = max(since * rate, LEAST_RATIO)
                rate *= spread_off
                timing = (ratio + 1.0 / ratio - 2.0) / (rate * rate + spread) * 0.5
                to = state + stride
                cost = min(timing, most) + cost + slip(to)
                way = (cost, stride, path)
                if cost < dearest and (to not in found or way < found[to]):
                    found[to] = way
                    dearest = min(dearest, cost + beam)
        lowest = min(found.values())[0]
        rows: list[Row] = []
        for to, (cost, stride, path) in found.items():
            if cost >= lowest + beam:
                continue
            state, _, _, heard, column = paths.rows[path]
            column = column.copy()
            column[COST] = cost - lowest
            bit = written(to)
            if stride:
                move = (ADVANCE if bit else ADVANCE_WRONG) + stride - 1
                self._learn(column, state, stride, seconds)
                heard = bit or _SLIPPED
            else:
                move = moves[path]
                if move != ADDED:
                    column[LEFT] = max(column[LEFT] - 1.0, 0.0)
                elif tables.late.item(to):
                    column[OWED] = max(column[OWED] - 1.0, 0.0)
                heard |= bit
                if move == WRONG_IN_CHORD:
                    heard |= _SLIPPED
            rows.append((to, move, state, heard, column))
        return rows, lowest

    def _stay(
        self,
        state: int,
        heard: int,
        column: list[float],
        tables: PitchTables,
        seconds: float,
        beside: Beside,
    ) -> tuple[float, int]:
        """Cost and move when the onset goes on, or the note is added to it."""
        left, cost = column[LEFT], column[COST]
        bit = tables.bits.item(state)
        if bit and not heard & bit and (left > 0.5 or not beside.leaves_complete):
            return cost + beside.late, CHORD
        since = seconds - column[REACHED]
        added = tables.added.item(state) + beside.added
        if column[OWED] > 0.5 and since < self._costs.late_seconds and tables.late.item(state):
            added = self._costs.late_for_onset
        tempo, o = column[TEMPO], self._onsets
        if beside.trill:
            lasts = OVERTIME * o.longest_quarters.item(state) * tempo + OVERTIME_SECONDS
            if since < lasts:
                added = min(added - self._costs.trill_relief, self._costs.added_in_trill)
        if tables.adorning_any and tables.adorning.item(state):
            lasts = OVERTIME * o.ornament_quarters.item(state) * tempo + OVERTIME_SECONDS
            if since < lasts:
                added = self._costs.added_in_ornament
        if left >= 0.5:
            wrong = tables.wrong.item(state) + beside.late
            if wrong < added:
                return cost + wrong, WRONG_IN_CHORD
        return cost + added, ADDED

    def _strides_from(self, state: int) -> list[tuple[int, float, float]]:
        """The strides that lead somewhere from a state: each, per quarter, cost of what is left."""
        ahead = self._ahead.get(state)
        if ahead is None:
            rates, skips = self._strides.per_quarter[:, state], self._strides.skip[:, state]
            ahead = self._ahead[state] = [
                (stride, rate, skip)
                for stride, (rate, skip) in enumerate(
                    zip(rates.tolist(), skips.tolist(), strict=True), start=1
                )
                if skip < NEVER
            ]
        return ahead

    def _learn(self, column: list[float], state: int, stride: int, seconds: float) -> None:
        """Teach a path that advanced: its tempo, its keys."""
        c = self._costs
        count, tempo = column[ADVANCES] + 1.0, column[TEMPO]
        per_quarter = self._strides.per_quarter.item(stride - 1, state)
        change = math.log(max((seconds - column[REACHED]) * per_quarter, 1e-3) / tempo)
        learning = c.tempo_learning_faster if change < 0 else c.tempo_learning
        learning = max(learning, 1.0 / (count + c.tempo_prior))
        reach = FIRST_CHANGE if count < 1.5 else LATER_CHANGE
        tempo *= math.exp(learning * max(min(change, reach), -reach))
        column[TEMPO] = min(max(tempo, FASTEST), SLOWEST)
        column[OWED] = column[LEFT] + self._strides.skipped_keys.item(stride - 1, state)
        column[LEFT] = self._onsets.others.item(state + stride)
        column[ADVANCES] = count
        column[REACHED] = seconds
        column[SPREAD] = c.timing_spread**2
