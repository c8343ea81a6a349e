"""Going on where the score itself leads elsewhere: repeats, endings, D.C., D.S., the coda."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.paths import COST, LEFT, REACHED, SPREAD, TEMPO
from companion.listening.decoding.strides import LEAST_RATIO, learn

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

    def lead_on_from(self, state: int) -> bool:
        """Whether a leap begins at a state."""
        return self.any and bool(self._leads_on[state])

    def ways(
        self, paths: Paths, tables: PitchTables, seconds: float
    ) -> list[tuple[float, int, int]]:
        """The paths that stand before a leap to where the key is written, cheapest first.

        Returns
        -------
        list of tuples
            Cost, which path, and which leap.
        """
        c, leaps = self._costs, self._onsets.leaps
        path = np.minimum(paths.states.searchsorted(leaps.source), len(paths.states) - 1)
        stands = paths.states[path] == leaps.source
        ready = np.flatnonzero(stands & (tables.bits[leaps.target] != 0))
        if not len(ready):
            return []
        path = path[ready]
        here = paths.table[:, path]
        rate = 1.0 / leaps.quarters[ready] / here[TEMPO]
        ratio = np.maximum((seconds - here[REACHED]) * rate, LEAST_RATIO)
        spread = here[SPREAD] + (rate * c.onset_spread_seconds) ** 2
        timing = np.minimum((ratio + 1.0 / ratio - 2.0) / (2.0 * spread), c.timing_most)
        cost = here[COST] + timing + c.written_leap + c.missed_note * here[LEFT]
        cost += c.skipped_onset * leaps.skipped_onsets[ready]
        cost += c.missed_note * leaps.skipped_keys[ready]
        return sorted(zip(cost.tolist(), path.tolist(), ready.tolist(), strict=True))

    def learn(
        self,
        columns: NDArray[np.float64],
        left: NDArray[np.intp],
        reached: NDArray[np.intp],
        seconds: float,
    ) -> NDArray[np.float64]:
        """Columns of the paths that took a leap between some states."""
        leaps = self._onsets.leaps
        at = np.array(
            [leaps.index_of(*step) for step in zip(left.tolist(), reached.tolist(), strict=True)]
        )
        return learn(
            self._costs,
            columns,
            self._onsets.others[reached],
            1.0 / leaps.quarters[at],
            leaps.skipped_keys[at],
            seconds,
        )
