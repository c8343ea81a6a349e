"""New paths: the player has jumped, and a passage begins where the key is written.

The best path so far may jump to anywhere; its rivals elsewhere in the score only to around where
they are, for far from there it is all the same which of them jumped. Where a start is expected it
may also begin with a wrong key.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.moves import JUMP, JUMP_WRONG
from companion.listening.decoding.starting_anew import Landings, departures
from companion.listening.decoding.ways import NO_WAYS, Ways

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


@dataclass(frozen=True, slots=True)
class _Start:
    """A path that may start anew at some places, with what speaks against it and by which move."""

    departure: Departure
    ready: float
    move: int
    places: NDArray[np.intp]


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
        starts: list[_Start] = []
        for rank, start in enumerate(departures(self._onsets, self._costs, paths)):
            ready = self.landings.readiness(start, readiness, habits)
            worth = ready + self.landings.least < dearest
            if not rank:
                if not worth and found_again >= dearest:
                    continue
                starts.append(_Start(start, ready, JUMP, tables.written))
            if not worth:
                continue
            if rank:
                near = (start.state - RIVALS_BACK, start.state + RIVALS_AHEAD)
                places = tables.written[slice(*tables.written.searchsorted(near))]
                starts.append(_Start(start, ready, JUMP, places))
            if ready + self.landings.least + self._costs.wrong >= dearest:
                continue  # too dear for a slip
            familiar = self.landings.familiar(start, habits)
            not_written = [state for state in familiar if not tables.bits.item(state)]
            if not_written:
                starts.append(_Start(start, ready, JUMP_WRONG, np.array(not_written)))
            if with_any_slip:
                starts.append(_Start(start, ready, JUMP_WRONG, tables.close))
        return self._together(starts, tables, habits, found_again, dearest) if starts else NO_WAYS

    def _together(
        self,
        starts: list[_Start],
        tables: PitchTables,
        habits: Habits,
        found_again: float,
        dearest: float,
    ) -> Ways:
        """All these at once: each path at some places of its own."""
        states = np.concatenate([start.places for start in starts])
        lengths = [len(start.places) for start in starts]
        which = np.arange(len(starts)).repeat(lengths)
        each = np.array(
            [(s.departure.state, s.departure.path, s.departure.by_slip, s.move) for s in starts]
        )
        left, path, by_slip, move = each.T
        cost = self.landings.costs_of(states, left[which], (by_slip != 0)[which], habits)
        cost += np.array([start.ready for start in starts])[which]
        cost += tables.slip[states]
        # From nowhere: whoever was lost. The likeliest path stands for them.
        if starts[0].places is tables.written:
            anywhere = cost[: lengths[0]]
            np.minimum(anywhere, found_again, out=anywhere)
        worth = (cost < dearest).nonzero()[0]
        which = which[worth]
        return Ways(states[worth], cost[worth], path[which], move[which])
