"""A note that goes on in the only plain way: most of a run-through, at a tenth of the work."""

from __future__ import annotations

import math
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class PlainStep:
    """The one path after a plain note: its state, how it took the note, its row and keys heard."""

    state: int
    move: int
    row: list[float]
    heard: int


def plain_step(
    onsets: ScoreOnsets,
    costs: Costs,
    strides: Strides,
    paths: Paths,
    tables: PitchTables,
    seconds: float,
) -> PlainStep | None:
    """The next key of a chord, or the next onset after a complete one in time; None if neither.

    Also None while another path is near.
    """
    c, state = costs, paths.best
    if int((paths.costs < PLAIN_COST).sum()) != 1:
        return None
    bit, heard = int(tables.bits[state]), int(paths.heard[state])
    row: list[float] = paths.table[:, state].tolist()  # plain numbers are quicker one by one
    since = seconds - row[REACHED]
    row[COST] = 0.0
    if bit and not heard & bit:
        if since > c.chord_window_seconds:
            return None
        row[LEFT] = max(0.0, row[LEFT] - 1.0)
        return PlainStep(state, CHORD, row, bit | heard)
    state += 1
    bit = int(tables.bits[state])
    rate = float(strides.per_quarter[0, state])
    change = math.log(max(since * rate, 1e-3) / row[TEMPO])
    if not bit or row[LEFT] > 0.5 or abs(change) > PLAIN_CHANGE or strides.skip[0, state]:
        return None
    row[ADVANCES] += 1.0
    learning = c.tempo_learning_faster if change < 0 else c.tempo_learning
    row[TEMPO] *= math.exp(change * max(learning, 1.0 / (row[ADVANCES] + c.tempo_prior)))
    row[REACHED], row[SPREAD] = seconds, c.timing_spread**2
    row[LEFT], row[OWED] = max(0.0, float(onsets.keys[state]) - 1.0), 0.0
    return PlainStep(state, ADVANCE, row, bit)


def take_plain_step(paths: Paths, step: PlainStep) -> None:
    """Let this path be the only one."""
    paths.replace(
        np.array([step.state]),
        np.array([step.move]),
        np.array(step.row)[:, np.newaxis],
        np.array([step.heard]),
        step.state,
    )
