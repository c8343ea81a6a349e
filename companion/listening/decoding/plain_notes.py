"""A note that goes on in the only plain way: most of a run-through, at a tenth of the work."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.moves import ADVANCE, CHORD
from companion.listening.decoding.paths import (
    ADVANCES,
    COST,
    LEFT,
    OWED,
    REACHED,
    SPREAD,
    TEMPO,
    Paths,
)

if TYPE_CHECKING:
    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.pitch_tables import PitchTables
    from companion.listening.decoding.score_onsets import ScoreOnsets
    from companion.listening.decoding.strides import Strides

PLAIN_COST = 4.0
PLAIN_CHANGE = 0.5
"""A note goes on plainly when no other path is this near and the tempo changes less than this."""


def plain_step(
    onsets: ScoreOnsets,
    costs: Costs,
    strides: Strides,
    paths: Paths,
    tables: PitchTables,
    seconds: float,
) -> Paths | None:
    """The next key of a chord, or the next onset after a complete one in time; None if neither.

    Also None while another path is near.
    """
    c, state = costs, paths.best_state
    if len(paths.states) > 1 and int((paths.table[COST] < PLAIN_COST).sum()) != 1:
        return None
    heard = int(paths.heard[paths.best])
    # Plain numbers are quicker one by one.
    column: list[float] = paths.table[:, paths.best].tolist()
    bit = int(tables.bits[state])
    since = seconds - column[REACHED]
    column[COST] = 0.0
    if bit and not heard & bit:
        if since > c.chord_window_seconds:
            return None
        column[LEFT] = max(0.0, column[LEFT] - 1.0)
        return _one(state, CHORD, state, column, bit | heard)
    if column[LEFT] > 0.5 or strides.skip[0, state]:
        return None
    bit = int(tables.bits[state + 1])
    change = math.log(max(since * float(strides.per_quarter[0, state]), 1e-3) / column[TEMPO])
    if not bit or abs(change) > PLAIN_CHANGE:
        return None
    column[ADVANCES] += 1.0
    learning = c.tempo_learning_faster if change < 0 else c.tempo_learning
    column[TEMPO] *= math.exp(change * max(learning, 1.0 / (column[ADVANCES] + c.tempo_prior)))
    column[REACHED], column[SPREAD] = seconds, c.timing_spread**2
    column[LEFT], column[OWED] = float(onsets.others[state + 1]), 0.0
    return _one(state + 1, ADVANCE, state, column, bit)


def _one(state: int, move: int, previous: int, column: list[float], heard: int) -> Paths:
    return Paths(
        np.array([state]),
        np.array([move]),
        np.array([previous]),
        np.array(column)[:, np.newaxis],
        np.array([heard]),
        0,
    )
