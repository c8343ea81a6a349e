"""Going on where the score itself leads elsewhere: repeats, endings, D.C., D.S., the coda."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.moves import WRITTEN_LEAP
from companion.listening.decoding.paths import COST, LEFT, REACHED, SPREAD, TEMPO
from companion.listening.decoding.strides import LEAST_RATIO, learn
from companion.listening.decoding.ways import NO_WAYS, Ways

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.paths import Paths
    from companion.listening.decoding.pitch_tables import PitchTables
    from companion.listening.decoding.score_onsets import ScoreOnsets


class WrittenLeaps:
    """The leaps of one score as ways to go on."""

    def __init__(self, onsets: ScoreOnsets, costs: Costs) -> None:
        self._onsets = onsets
        self._costs = costs
        self.any = bool(len(onsets.leaps.source))
        self._leads_on = np.zeros(onsets.size, np.bool_)
        self._leads_on[onsets.leaps.source] = True
        self._path_at = np.full(onsets.size, -1)

    def lead_on_from(self, state: int) -> bool:
        """Whether a leap begins at a state."""
        return self.any and bool(self._leads_on[state])

    def ways(self, paths: Paths, tables: PitchTables, seconds: float) -> Ways:
        """The paths that stand before a leap, on to where the key is written."""
        c, leaps = self._costs, self._onsets.leaps
        self._path_at[paths.states] = np.arange(len(paths.states))
        path = self._path_at[leaps.source]
        self._path_at[paths.states] = -1
        ready = ((path >= 0) & (tables.bits[leaps.target] != 0)).nonzero()[0]
        if not len(ready):
            return NO_WAYS
        path = path[ready]
        here = paths.table[:, path]
        rate = 1.0 / leaps.quarters[ready] / here[TEMPO]
        ratio = np.maximum((seconds - here[REACHED]) * rate, LEAST_RATIO)
        spread = here[SPREAD] + (rate * c.onset_spread_seconds) ** 2
        timing = np.minimum((ratio + 1.0 / ratio - 2.0) / (2.0 * spread), c.timing_most)
        cost = here[COST] + timing + c.written_leap + c.missed_note * here[LEFT]
        cost += c.skipped_onset * leaps.skipped_onsets[ready]
        cost += c.missed_note * leaps.skipped_keys[ready]
        return Ways(leaps.target[ready], cost, path, np.full(len(ready), WRITTEN_LEAP))

    def learn(
        self,
        columns: NDArray[np.float64],
        left: NDArray[np.intp],
        reached: NDArray[np.intp],
        seconds: float,
    ) -> None:
        """Teach the paths that took a leap between some states."""
        leaps = self._onsets.leaps
        at = np.array(
            [leaps.index_of(*step) for step in zip(left.tolist(), reached.tolist(), strict=True)]
        )
        learn(
            self._costs,
            columns,
            self._onsets.others[reached],
            1.0 / leaps.quarters[at],
            leaps.skipped_keys[at],
            seconds,
        )
