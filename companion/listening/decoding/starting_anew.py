"""Starting anew: how likely a player is to jump, and where to.

A pause is a hesitation or the moment before starting anew; without one hardly anybody jumps.
Mostly a player goes a little back, or to where they began before.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import NEVER
from companion.listening.decoding.paths import COST, LEFT, SLIPPED, Paths
from companion.listening.decoding.recent_notes import Wait

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.habits import Habits
    from companion.listening.decoding.pitch_tables import PitchTables
    from companion.listening.decoding.score_onsets import ScoreOnsets

SAME_ONSET_QUARTERS = 1e-3

MOST_DEPARTURES = 3
RIVAL_DEPARTURE = 3.0
"""So many paths may jump, and none that costs this much more than the cheapest."""


@dataclass(frozen=True, slots=True)
class Departure:
    """A path that jumps: which, from which state, at which cost, whether a slip made it stop."""

    path: int
    state: int
    cost: float
    by_slip: bool


def weigh_wait(costs: Costs, seconds: float, expected_seconds: float, before: Wait) -> Wait:
    """What a wait costs whoever goes on, and what it says against a new start.

    Parameters
    ----------
    seconds
        Since the last note.
    expected_seconds
        Until the next onset.
    before
        What the wait before the last note said.
    """
    c = costs
    if seconds < c.chord_window_seconds:
        # still the chord that came after the pause
        return Wait(seconds, 0.0, before.readiness, before.pause)
    expected = max(expected_seconds, c.shortest_wait_seconds)
    ratio = max(1.0, seconds / expected)
    hesitation = min(c.timing_most, (ratio + 1.0 / ratio - 2.0) / (2.0 * c.timing_spread**2))
    longer = max(seconds - expected, 1e-3)
    odds = c.jump_after_a_second - c.jump_per_wait * math.log(longer)
    readiness = min(max(odds, c.jump_after_long_pause), c.jump_at_once)
    return Wait(seconds, hesitation, readiness, longer > c.pause_seconds)


def departures(onsets: ScoreOnsets, costs: Costs, paths: Paths) -> list[Departure]:
    """The paths that jump: the cheapest one, and others where the same music may be meant.

    What a path leaves unfinished counts in part. The others keep an ambiguity alive: who goes back
    a little in music that stands twice in the score may have done so at either place.
    """
    found: list[Departure] = []
    leaving = paths.table[COST] + costs.unfinished_note * paths.table[LEFT]
    slips = (paths.heard & SLIPPED) != 0
    leaving += slips * costs.retry_after_slip
    quarters = onsets.state_quarters[paths.states]
    for _ in range(MOST_DEPARTURES):
        at = int(leaving.argmin())
        cost = float(leaving[at])
        if found and cost > found[0].cost + RIVAL_DEPARTURE:
            break
        found.append(Departure(at, int(paths.states[at]), cost, bool(slips[at])))
        leaving[np.abs(quarters - quarters[at]) < costs.beats_quarters] = NEVER
    return found


@dataclass(frozen=True, slots=True)
class Places:
    """Some states at which a player may start anew, with what bears on it.

    Parameters
    ----------
    states, quarters, chain
        Each state, where it is written, and its chain.
    measure
        Counted along the page.
    inside
        Cost of not being at the beginning of a measure.
    """

    states: NDArray[np.intp]
    quarters: NDArray[np.float64]
    chain: NDArray[np.int8]
    measure: NDArray[np.intp]
    inside: NDArray[np.float64]


class Landings:
    """Where players start anew."""

    def __init__(self, onsets: ScoreOnsets, costs: Costs) -> None:
        self._onsets = onsets
        self._costs = costs
        self._inside = np.where(onsets.opens_measure, 0.0, costs.landing_inside)
        self._opening = np.maximum.accumulate(
            np.where(onsets.opens_measure, np.arange(onsets.size), 0)
        )
        # Measures are counted along the page: printed numbers may come twice.
        both = onsets.opens_measure & (onsets.state_chain == 0)
        borders = onsets.state_quarters[both]
        self._measure = np.maximum(
            borders.searchsorted(onsets.state_quarters + SAME_ONSET_QUARTERS) - 1, 0
        )
        # By the distance in measures, from the farthest ahead to the farthest behind.
        self._last_measure = int(self._measure.max(initial=0))
        distance = np.arange(-self._last_measure, self._last_measure + 1)
        self._by_measures = np.where(distance > 0, costs.landing_behind, costs.landing_ahead)
        self._by_measures += costs.landing_farther * np.log(np.maximum(np.abs(distance), 1))
        self._by_measures[self._last_measure] = costs.landing_this_measure
        self.least = min(
            costs.landing_known,
            costs.landing_here,
            costs.landing_beats,
            float(self._by_measures.min(initial=NEVER)),
        )
        self._written: dict[int, Places] = {}
        # Where the player began before, and what it costs to begin there again.
        self._landings: tuple[float, ...] = ()
        self._known: list[int] = []
        self._known_cost = np.full(onsets.size, NEVER)

    def places(self, states: NDArray[np.intp]) -> Places:
        """What bears on starting anew at some states."""
        o = self._onsets
        return Places(
            states,
            o.state_quarters[states],
            o.state_chain[states],
            self._measure[states],
            self._inside[states],
        )

    def where_written(self, tables: PitchTables) -> Places:
        """The places where a key is written, gathered once per key."""
        places = self._written.get(tables.pitch)
        if places is None:
            places = self._written[tables.pitch] = self.places(tables.written)
        return places

    def costs_of_beginning(self, states: NDArray[np.intp]) -> NDArray[np.float64]:
        """Cost of beginning a take at each of some states."""
        o, c = self._onsets, self._costs
        begin = np.where(o.opens_measure[states], 0.0, c.begin_inside)
        begin[o.state_chain[states] != 0] += c.begin_one_hand
        return begin

    def familiar(self, start: Departure, habits: Habits) -> list[int]:
        """States where a start is expected even if its first key is wrong.

        The beginnings of this measure and the one before, and where the player began before.
        """
        self._look_up_landings(habits)
        this = int(self._opening[start.state])
        before = int(self._opening[max(0, this - 1)])
        chain = self._onsets.state_chain
        here = [this, before] if chain[before] == chain[this] else [this]
        known = self._known
        new = [state for state in here if self._onsets.notes_at[state] and state not in known]
        return known + new

    def _look_up_landings(self, habits: Habits) -> None:
        """The states where the player began before; worked out anew when there is one more."""
        if self._landings == habits.landings:
            return
        o, c = self._onsets, self._costs
        self._known_cost[self._known] = NEVER
        count = len(habits.landings) + 1  # one for a place that is new
        for place in set(habits.landings):
            cost = c.landing_known + math.log(count / habits.landings.count(place))
            for chain, (first, end) in enumerate(zip(o.chain_start, o.chain_end, strict=True)):
                if first < end:
                    state = o.state_of(chain, place)
                    self._known_cost[state] = min(cost, self._known_cost[state])
        self._landings = habits.landings
        self._known = (self._known_cost < NEVER).nonzero()[0].tolist()

    def readiness(self, start: Departure, readiness: float, habits: Habits) -> float:
        """What a path costs that starts anew, wherever: it may have stopped here before."""
        c = self._costs
        if float(self._onsets.state_quarters[start.state]) in habits.ends:
            readiness = max(readiness - c.ended_here_before, c.jump_after_long_pause)
        return start.cost + readiness

    def costs_of(
        self,
        places: Places,
        left: NDArray[np.intp] | int,
        by_slip: NDArray[np.bool_] | bool,
        habits: Habits,
    ) -> NDArray[np.float64]:
        """Cost of starting anew at each of some places, besides the readiness to do so.

        Parameters
        ----------
        places
            Where.
        left, by_slip
            The state where the player was, and whether a slip made them stop; or those of each.
        """
        self._look_up_landings(habits)
        o, c = self._onsets, self._costs
        behind = o.state_quarters[left] - places.quarters
        jump: NDArray[np.float64] = self._by_measures[
            self._measure[left] + self._last_measure - places.measure
        ]
        jump += places.inside
        near = behind > SAME_ONSET_QUARTERS
        near &= behind <= c.beats_quarters
        np.putmask(jump, near, np.minimum(jump, c.landing_beats))
        np.putmask(jump, np.abs(behind) < SAME_ONSET_QUARTERS, c.landing_here)
        self._prefer_known(places, jump, behind)
        if np.any(by_slip):  # a reason to try again from close by, not to leap elsewhere
            far = (behind < -SAME_ONSET_QUARTERS) | (behind > c.beats_quarters)
            jump[far & by_slip] -= c.retry_after_slip
        jump += (places.chain != o.state_chain[left]) * c.other_hands
        return jump

    def _prefer_known(
        self, places: Places, jump: NDArray[np.float64], behind: NDArray[np.float64]
    ) -> None:
        """Make it cheap to begin where the player began before, above all within a passage."""
        if not self._known:
            return
        known = self._known_cost[places.states]
        found = (known < NEVER).nonzero()[0]
        if not len(found):
            return
        away = np.abs(behind[found]) / self._costs.passage_quarters
        cost = known[found] + self._costs.passage_farther * np.log(np.maximum(away, 1.0))
        jump[found] = np.minimum(jump[found], cost)
