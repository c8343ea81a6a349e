"""A note that goes on in the only plain way: most of a run-through, at a tenth of the work."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.few_paths import FEW, FewPaths, rows_of
from companion.listening.decoding.moves import ADVANCE, CHORD, MAX_STRIDE
from companion.listening.decoding.paths import (
    ADVANCES,
    COST,
    LEFT,
    OWED,
    REACHED,
    RIVAL_COST,
    SPREAD,
    TEMPO,
    Paths,
)

if TYPE_CHECKING:
    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.few_paths import Row
    from companion.listening.decoding.pitch_tables import PitchTables
    from companion.listening.decoding.score_onsets import ScoreOnsets
    from companion.listening.decoding.strides import Strides

PLAIN_COST = 4.0
PLAIN_CHANGE = 0.5
"""A note goes on plainly when it does so on all paths this near, where the tempo changes less than
this."""


def plain_step(
    onsets: ScoreOnsets,
    costs: Costs,
    strides: Strides,
    paths: Paths | FewPaths,
    tables: PitchTables,
    seconds: float,
) -> FewPaths | None:
    """The next key of a chord, or the next onset after a complete one in time; None if neither.

    Where the same music stands elsewhere, the paths there must go on as plainly.
    """
    near = _near(paths)
    if near is None:
        return None
    rows: list[Row] = []
    for row in near.rows:
        after = _plainly(onsets, costs, strides, row, tables, seconds)
        if after is None:
            return None
        rows.append(after)
    if len(rows) > 1 and len({row[0] for row in rows}) < len(rows):
        return None  # two paths meet
    return FewPaths(rows, near.best)


def _near(paths: Paths | FewPaths) -> FewPaths | None:
    """The paths that compete: beside the best one, or elsewhere; None when they are many."""
    here = paths.best_state
    if isinstance(paths, FewPaths):
        if len(paths.rows) == 1:
            return paths
        kept = [at for at, row in enumerate(paths.rows) if _competes(row, here)]
        rows = [paths.rows[at] for at in kept]
    else:
        costs = paths.table[COST]
        elsewhere = np.abs(paths.states - here) > 2 * MAX_STRIDE
        near = ((costs < PLAIN_COST) | (elsewhere & (costs <= RIVAL_COST))).nonzero()[0]
        if len(near) > FEW:
            return None
        rows, kept = rows_of(paths, near), near.tolist()
    return FewPaths(rows, kept.index(paths.best))


def _competes(row: Row, here: int) -> bool:
    cost = row[4][COST]
    return cost < PLAIN_COST or (cost <= RIVAL_COST and abs(row[0] - here) > 2 * MAX_STRIDE)


def _plainly(
    onsets: ScoreOnsets,
    costs: Costs,
    strides: Strides,
    row: Row,
    tables: PitchTables,
    seconds: float,
) -> Row | None:
    """One path after a note that goes on plainly, None when it does not."""
    state, _, _, heard, column = row
    bit = tables.bits.item(state)
    since = seconds - column[REACHED]
    if bit and not heard & bit:
        if since > costs.chord_window_seconds:
            return None
        column = column.copy()
        column[LEFT] = max(0.0, column[LEFT] - 1.0)
        return state, CHORD, state, bit | heard, column
    if column[LEFT] > 0.5 or strides.skip.item(0, state):
        return None
    bit = tables.bits.item(state + 1)
    if not bit:
        return None
    per_quarter = strides.per_quarter.item(0, state)
    change = math.log(max(since * per_quarter, 1e-3) / column[TEMPO])
    if abs(change) > PLAIN_CHANGE:
        return None
    column = column.copy()
    column[ADVANCES] += 1.0
    learning = costs.tempo_learning_faster if change < 0 else costs.tempo_learning
    learning = max(learning, 1.0 / (column[ADVANCES] + costs.tempo_prior))
    column[TEMPO] *= math.exp(change * learning)
    column[REACHED], column[SPREAD] = seconds, costs.timing_spread**2
    column[LEFT], column[OWED] = onsets.others.item(state + 1), 0.0
    return state + 1, ADVANCE, state, bit, column
