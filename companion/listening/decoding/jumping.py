"""New paths: the player has jumped, and a passage begins where the key is written.

The best path so far may jump to anywhere; its rivals elsewhere in the score only to around where
they are, for far from there it is all the same which of them jumped. Where a start is expected it
may also begin with a wrong key.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.moves import JUMP, JUMP_WRONG
from companion.listening.decoding.starting_anew import Landings, departures
from companion.listening.decoding.ways import NO_WAYS, Ways, together

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.habits import Habits
    from companion.listening.decoding.paths import Paths
    from companion.listening.decoding.pitch_tables import PitchTables
    from companion.listening.decoding.score_onsets import ScoreOnsets
    from companion.listening.decoding.starting_anew import Departure

RIVALS_BACK, RIVALS_AHEAD = 100, 30
"""So many onsets around a rival of the best path are looked at for a new start from there."""


class Jumps:
    """New starts as ways to go on.

    Parameters
    ----------
    onsets
        The laid out score.
    costs
        The model.
    """

    def __init__(self, onsets: ScoreOnsets, costs: Costs) -> None:
        self._onsets = onsets
        self._costs = costs
        self.landings = Landings(onsets, costs)

    def ways(
        self,
        paths: Paths,
        tables: PitchTables,
        habits: Habits,
        *,
        readiness: float,
        found_again: float,
        dearest: float,
        with_any_slip: bool,
    ) -> Ways:
        """The new starts that are worth weighing.

        Parameters
        ----------
        paths, tables, habits
            The paths so far, the key that was struck, and the player.
        readiness
            What speaks against a new start, wherever.
        found_again
            Cost of starting anywhere from where nothing was known.
        dearest
            What costs as much is not worth it. Whoever cannot be cheaper is not looked at.
        with_any_slip
            Whether the first key may be wrong everywhere, not only where a start is expected.
        """
        found: list[Ways] = []
        others: list[tuple[Departure, float, int, NDArray[np.intp]]] = []
        for rank, start in enumerate(departures(self._onsets, self._costs, paths)):
            ready = self.landings.readiness(start, readiness, habits)
            worth = ready + self.landings.least < dearest
            if not rank and (worth or found_again < dearest):
                found.append(self._anywhere(tables, start, ready, habits, found_again, dearest))
            if not worth:
                continue
            if rank:
                near = (start.state - RIVALS_BACK, start.state + RIVALS_AHEAD)
                places = tables.written[slice(*tables.written.searchsorted(near))]
                others.append((start, ready, JUMP, places))
            familiar = self.landings.familiar(start, habits)
            not_written = [state for state in familiar if not tables.bits[state]]
            others.append((start, ready, JUMP_WRONG, np.array(not_written, np.intp)))
            if with_any_slip:
                others.append((start, ready, JUMP_WRONG, tables.close))
        if others:
            found.append(self._each(tables, others, habits).below(dearest))
        return together(found) if found else NO_WAYS

    def _anywhere(
        self,
        tables: PitchTables,
        start: Departure,
        ready: float,
        habits: Habits,
        found_again: float,
        dearest: float,
    ) -> Ways:
        """New starts wherever the key is written."""
        places = self.landings.where_written(tables)
        cost = self.landings.costs_of(places, start.state, start.by_slip, habits)
        cost += ready
        np.minimum(cost, found_again, out=cost)
        worth = (cost < dearest).nonzero()[0]
        return Ways(
            places.states[worth],
            cost[worth],
            np.full(len(worth), start.path),
            np.full(len(worth), JUMP),
        )

    def _each(
        self,
        tables: PitchTables,
        starts: list[tuple[Departure, float, int, NDArray[np.intp]]],
        habits: Habits,
    ) -> Ways:
        """New starts of several paths, each at some places of its own; all at once."""
        states = np.concatenate([places for *_, places in starts])
        lengths = [len(places) for *_, places in starts]
        which = np.arange(len(starts)).repeat(lengths)
        left = np.array([start.state for start, *_ in starts])[which]
        by_slip = np.array([start.by_slip for start, *_ in starts])
        cost = self.landings.costs_of(
            self.landings.places(states),
            left,
            by_slip[which] if by_slip.any() else False,
            habits,
        )
        cost += np.array([ready for _, ready, *_ in starts])[which]
        cost += tables.slip[states]
        path = np.array([start.path for start, *_ in starts])[which]
        return Ways(states, cost, path, np.array([move for _, _, move, _ in starts])[which])
