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
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.paths import Paths
    from companion.listening.decoding.score_onsets import ScoreOnsets

SHORTEST_GAP_QUARTERS = 0.03
"""Onsets nearer than this are taken to be this far apart."""

LEAST_RATIO = 0.02
"""An advance is never taken to be more than fifty times too fast."""

FASTEST, SLOWEST = 0.05, 8.0
"""Seconds per quarter between which a tempo stays."""

FIRST_CHANGE, LATER_CHANGE = 1.4, 0.5
"""Largest change of tempo (logarithm) that is learnt from at the first onset, and later."""

_REACH = np.array((LATER_CHANGE, FIRST_CHANGE))


class Strides:
    """What an advance from each state over one, two, ... onsets skips, and how long it should take.

    Attributes
    ----------
    per_quarter
        One divided by the written time, per stride and state left.
    skip
        Cost of what is left out on the way; ``NEVER`` beyond the end of a chain.
    skipped_keys
        Number of keys left out.
    """

    def __init__(self, onsets: ScoreOnsets, costs: Costs) -> None:
        self._costs = costs
        self._onsets = onsets
        size, quarters = onsets.size, onsets.state_quarters
        self.per_quarter = np.ones((MAX_STRIDE, size))
        self.skip = np.full((MAX_STRIDE, size), NEVER)
        self.skipped_keys = np.zeros((MAX_STRIDE, size))
        skip_one = costs.skipped_onset + costs.missed_note * onsets.keys
        for stride in range(1, min(MAX_STRIDE, size - 1) + 1):
            row, left = stride - 1, size - stride
            gap = np.maximum(quarters[stride:] - quarters[:-stride], SHORTEST_GAP_QUARTERS)
            self.per_quarter[row, :left] = 1.0 / gap
            self.skip[row, :left] = np.where(onsets.padding[stride:], NEVER, 0.0)
            for between in range(1, stride):
                self.skip[row, :left] += skip_one[between : between + left]
                self.skipped_keys[row, :left] += onsets.keys[between : between + left]

    def costs_of_advancing(
        self, paths: Paths, seconds: float, advance: NDArray[np.float64]
    ) -> None:
        """Cost of advancing to the next onset, the one after it, ... whatever the key.

        Parameters
        ----------
        advance
            Filled: one row per stride, one column per path.
        """
        c, before = self._costs, paths.table
        rate: NDArray[np.float64] = self.per_quarter.take(paths.states, axis=1)
        rate /= before[TEMPO]
        ratio = (seconds - before[REACHED]) * rate
        np.maximum(ratio, LEAST_RATIO, out=ratio)
        rate *= c.onset_spread_seconds
        rate *= rate
        rate += before[SPREAD]
        np.reciprocal(ratio, out=advance)
        advance += ratio
        advance -= 2.0
        advance /= rate
        advance *= 0.5
        np.minimum(advance, c.timing_most, out=advance)
        advance += before[COST] + c.missed_note * before[LEFT]
        advance += self.skip.take(paths.states, axis=1)

    def learn(
        self,
        columns: NDArray[np.float64],
        left: NDArray[np.intp],
        stride: NDArray[np.intp],
        seconds: float,
    ) -> None:
        """Teach the paths that advanced from some states (stride 0: to the next onset)."""
        learn(
            self._costs,
            columns,
            self._onsets.others[left + stride + 1],
            self.per_quarter[stride, left],
            self.skipped_keys[stride, left],
            seconds,
        )


def learn(
    costs: Costs,
    columns: NDArray[np.float64],
    others: NDArray[np.float64],
    per_quarter: NDArray[np.float64],
    skipped_keys: NDArray[np.float64],
    seconds: float,
) -> None:
    """Teach paths that have gone on to another onset: its tempo, its keys.

    Parameters
    ----------
    columns
        The paths before; they are changed.
    others
        Keys of the onsets reached, but for the one that was struck.
    per_quarter, skipped_keys
        One divided by the written time, and what was left out on the way.
    """
    tempo, count, left = columns[TEMPO], columns[ADVANCES], columns[LEFT]
    count += 1.0
    observed = (seconds - columns[REACHED]) * per_quarter
    np.maximum(observed, 1e-3, out=observed)
    observed /= tempo
    change = np.log(observed, out=observed)
    learning = np.array((costs.tempo_learning, costs.tempo_learning_faster))[
        (change < 0).view(np.int8)
    ]
    np.maximum(learning, 1.0 / (count + costs.tempo_prior), out=learning)
    reach = _REACH[(count < 1.5).view(np.int8)]
    np.minimum(change, reach, out=change)
    np.maximum(change, -reach, out=change)
    change *= learning
    tempo *= np.exp(change, out=change)
    np.maximum(tempo, FASTEST, out=tempo)
    np.minimum(tempo, SLOWEST, out=tempo)
    np.add(left, skipped_keys, out=columns[OWED])
    left[:] = others
    columns[REACHED] = seconds
    columns[SPREAD] = costs.timing_spread**2
