"""Going on: from one onset to one of the next few, in time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import NEVER
from companion.listening.decoding.moves import MAX_STRIDE
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
    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.score_onsets import ScoreOnsets

SHORTEST_GAP_QUARTERS = 0.03
"""Onsets nearer than this are taken to be this far apart."""

LEAST_RATIO = 0.02
"""An advance is never taken to be more than fifty times too fast."""

FASTEST, SLOWEST = 0.05, 8.0
"""Seconds per quarter between which a tempo stays."""

FIRST_CHANGE, LATER_CHANGE = 1.4, 0.5
"""Largest change of tempo (logarithm) that is learnt from at the first onset, and later."""

_STRIDES = np.arange(1, MAX_STRIDE + 1)[:, np.newaxis]


class Strides:
    """What an advance to each state over one, two, ... onsets skips, and how long it should take.

    Attributes
    ----------
    per_quarter
        One divided by the written time, per stride and state reached.
    skip
        Cost of what is left out on the way.
    skipped_keys
        Number of keys left out.
    """

    def __init__(self, onsets: ScoreOnsets, costs: Costs) -> None:
        self._costs = costs
        self._keys = onsets.keys
        size, quarters = onsets.size, onsets.state_quarters
        self.per_quarter = np.ones((MAX_STRIDE, size))
        self.skip = np.zeros((MAX_STRIDE, size))
        self.skipped_keys = np.zeros((MAX_STRIDE, size))
        skip_one = costs.skipped_onset + costs.missed_note * onsets.keys
        for stride in range(1, MAX_STRIDE + 1):
            gap = np.maximum(quarters[stride:] - quarters[:-stride], SHORTEST_GAP_QUARTERS)
            self.per_quarter[stride - 1, stride:] = 1.0 / gap
            for between in range(1, stride):
                self.skip[stride - 1, between:] += skip_one[: size - between]
                self.skipped_keys[stride - 1, between:] += onsets.keys[: size - between]
        self.skip[:, onsets.padding] = NEVER

    def costs_of_advancing(
        self, paths: Paths, states: NDArray[np.intp], seconds: float
    ) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
        """Cost of coming from the best of the onsets before, and which (0: the one before)."""
        c = self._costs
        before = paths.table[COST : SPREAD + 1].take(states - _STRIDES, axis=1)
        rate = self.per_quarter.take(states, axis=1)
        rate /= before[TEMPO]
        ratio = (seconds - before[REACHED]) * rate
        np.maximum(ratio, LEAST_RATIO, out=ratio)
        rate *= c.onset_spread_seconds
        rate *= rate
        rate += before[SPREAD]
        advance = ratio + 1.0 / ratio
        advance -= 2.0
        advance /= rate
        advance *= 0.5
        np.minimum(advance, c.timing_most, out=advance)
        advance += before[COST]
        advance += c.missed_note * before[LEFT]
        advance += self.skip.take(states, axis=1)
        return advance.min(axis=0), advance.argmin(axis=0)

    def learn(
        self,
        paths: Paths,
        reached: NDArray[np.intp],
        stride: NDArray[np.intp],
        seconds: float,
    ) -> NDArray[np.float64]:
        """Rows of the paths that advanced to some states."""
        return learn(
            self._costs,
            paths.table[:, reached - stride - 1],
            self._keys[reached],
            self.per_quarter[stride, reached],
            self.skipped_keys[stride, reached],
            seconds,
        )


def learn(
    costs: Costs,
    rows: NDArray[np.float64],
    keys: NDArray[np.float32],
    per_quarter: NDArray[np.float64],
    skipped_keys: NDArray[np.float64],
    seconds: float,
) -> NDArray[np.float64]:
    """Rows of paths after they have gone on to another onset: its tempo, its keys.

    Parameters
    ----------
    rows
        The paths before; they are changed.
    keys
        Keys of the onsets reached.
    per_quarter, skipped_keys
        One divided by the written time, and what was left out on the way.
    """
    count = rows[ADVANCES] + 1.0
    observed = (seconds - rows[REACHED]) * per_quarter
    change = np.log(np.maximum(observed, 1e-3) / rows[TEMPO])
    reach = np.where(count < 1.5, FIRST_CHANGE, LATER_CHANGE)
    learning = np.maximum(
        1.0 / (count + costs.tempo_prior),
        np.where(change < 0, costs.tempo_learning_faster, costs.tempo_learning),
    )
    rows[TEMPO] *= np.exp(learning * np.minimum(np.maximum(change, -reach), reach))
    np.minimum(np.maximum(rows[TEMPO], FASTEST), SLOWEST, out=rows[TEMPO])
    rows[OWED] = rows[LEFT] + skipped_keys
    rows[LEFT] = np.maximum(keys - 1.0, 0.0)
    rows[ADVANCES] = count
    rows[REACHED] = seconds
    rows[SPREAD] = costs.timing_spread**2
    return rows
