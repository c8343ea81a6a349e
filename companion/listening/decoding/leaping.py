"""Going on where the score itself leads elsewhere: repeats, endings, D.C., D.S., the coda."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.moves import WRITTEN_LEAP
from companion.listening.decoding.paths import COST, LEFT, REACHED, SPREAD, TEMPO, Paths
from companion.listening.decoding.strides import LEAST_RATIO, learn

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.pitch_tables import PitchTables
    from companion.listening.decoding.reaching import Candidates
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

    def weigh(
        self, paths: Paths, tables: PitchTables, seconds: float, candidates: Candidates
    ) -> dict[int, int]:
        """Let the paths that stand before a leap follow it, in time, where that is cheapest.

        Returns
        -------
        dict
            The leap taken to each state that was reached so.
        """
        taken: dict[int, int] = {}
        c, leaps = self._costs, self._onsets.leaps
        here = paths.table[:, leaps.source]
        ready = np.flatnonzero((here[COST] < c.beam) & (tables.bits[leaps.target] != 0))
        if not len(ready):
            return taken
        here = here[:, ready]
        rate = 1.0 / leaps.quarters[ready] / here[TEMPO]
        ratio = np.maximum((seconds - here[REACHED]) * rate, LEAST_RATIO)
        spread = here[SPREAD] + (rate * c.onset_spread_seconds) ** 2
        timing = np.minimum((ratio + 1.0 / ratio - 2.0) / (2.0 * spread), c.timing_most)
        price = here[COST] + timing + c.written_leap + c.missed_note * here[LEFT]
        price += c.skipped_onset * leaps.skipped_onsets[ready]
        price += c.missed_note * leaps.skipped_keys[ready]
        for at, leap in sorted(zip(price.tolist(), ready.tolist(), strict=True)):
            target = int(leaps.target[leap])
            if target in taken:
                continue
            known = np.flatnonzero(candidates.states == target)
            if not len(known):
                candidates.add(np.array([target]), np.array([at]), WRITTEN_LEAP)
            elif at < candidates.cost[known[0]]:
                candidates.cost[known[0]], candidates.move[known[0]] = at, WRITTEN_LEAP
            else:
                continue
            taken[target] = leap
        return taken

    def learn(self, paths: Paths, leaps_taken: list[int], seconds: float) -> NDArray[np.float64]:
        """Rows of the paths that took some leaps."""
        leaps, at = self._onsets.leaps, np.array(leaps_taken)
        return learn(
            self._costs,
            paths.table[:, leaps.source[at]],
            self._onsets.keys[leaps.target[at]],
            1.0 / leaps.quarters[at],
            leaps.skipped_keys[at],
            seconds,
        )
