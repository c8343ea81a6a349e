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
    leaving[slips] += costs.retry_after_slip
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
class _Known:
    """Where the player began before, in rising order, and what it costs to begin there again."""

    landings: tuple[float, ...]
    states: NDArray[np.intp]
    cost: NDArray[np.float64]


class Landings:
    """Where players start anew."""

    def __init__(self, onsets: ScoreOnsets, costs: Costs) -> None:
        self._onsets = onsets
        self._costs = costs
        self._known = _Known((), np.zeros(0, np.intp), np.zeros(0))
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

    def costs_of_beginning(self, states: NDArray[np.intp]) -> NDArray[np.float64]:
        """Cost of beginning a take at each of some states."""
        o, c = self._onsets, self._costs
        begin = np.where(o.opens_measure[states], 0.0, c.begin_inside)
        begin[o.state_chain[states] != 0] += c.begin_one_hand
        return begin

    def familiar(self, start: Departure, habits: Habits) -> NDArray[np.intp]:
        """States where a start is expected even if its first key is wrong.

        The beginnings of this measure and the one before, and where the player began before.
        """
        this = int(self._opening[start.state])
        before = int(self._opening[max(0, this - 1)])
        begun = self._begun_before(habits).states
        chain = self._onsets.state_chain
        here = [this, before] if chain[before] == chain[this] else [this]
        new = [state for state in here if self._onsets.notes_at[state] and state not in begun]
        return np.concatenate((begun, np.array(new, np.intp)))

    def _begun_before(self, habits: Habits) -> _Known:
        """The states where the player began before; worked out anew when there is one more."""
        if self._known.landings != habits.landings:
            o, c = self._onsets, self._costs
            cost: dict[int, float] = {}
            count = len(habits.landings) + 1  # one for a place that is new
            for place in set(habits.landings):
                known = c.landing_known + math.log(count / habits.landings.count(place))
                for chain, (first, end) in enumerate(zip(o.chain_start, o.chain_end, strict=True)):
                    if first < end:
                        state = o.state_of(chain, place)
                        cost[state] = min(known, cost.get(state, known))
            states = np.array(sorted(cost), np.intp)
            costs = np.array([cost[state] for state in states.tolist()])
            self._known = _Known(habits.landings, states, costs)
        return self._known

    def costs_of(
        self, states: NDArray[np.intp], start: Departure, readiness: float, habits: Habits
    ) -> NDArray[np.float64]:
        """Cost of starting anew at each of some states."""
        o, c = self._onsets, self._costs
        here = float(o.state_quarters[start.state])
        behind = here - o.state_quarters[states]
        measure = int(self._measure[start.state])
        jump: NDArray[np.float64] = self._by_measures[
            measure + self._last_measure - self._measure[states]
        ]
        jump += self._inside[states]
        near = (behind > SAME_ONSET_QUARTERS) & (behind <= c.beats_quarters)
        jump[near] = np.minimum(jump[near], c.landing_beats)
        jump[np.abs(behind) < SAME_ONSET_QUARTERS] = c.landing_here
        self._prefer_known(states, jump, here, habits)
        if start.by_slip:  # a reason to try again from close by, not to leap elsewhere
            far = (behind < -SAME_ONSET_QUARTERS) | (behind > c.beats_quarters)
            jump[far] -= c.retry_after_slip
        jump[o.state_chain[states] != o.state_chain[start.state]] += c.other_hands
        if here in habits.ends:
            readiness = max(readiness - c.ended_here_before, c.jump_after_long_pause)
        jump += start.cost + readiness
        return jump

    def _prefer_known(
        self, states: NDArray[np.intp], jump: NDArray[np.float64], here: float, habits: Habits
    ) -> None:
        """Make it cheap to begin where the player began before, above all within a passage."""
        known = self._begun_before(habits)
        if not len(known.states) or not len(states):
            return
        at = np.minimum(states.searchsorted(known.states), len(states) - 1)
        found = (states[at] == known.states).nonzero()[0]
        if not len(found):
            return
        at, place = at[found], self._onsets.state_quarters[known.states[found]]
        away = np.maximum(np.abs(here - place) / self._costs.passage_quarters, 1.0)
        cost = known.cost[found] + self._costs.passage_farther * np.log(away)
        jump[at] = np.minimum(jump[at], cost)
