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
    leaving = paths.table[COST] + costs.unfinished_note * paths.table[LEFT]
    slips = (paths.heard & SLIPPED) != 0
    leaving += slips * costs.retry_after_slip
    least = leaving.item(leaving.argmin())
    near = (leaving <= least + RIVAL_DEPARTURE).nonzero()[0]
    states, cost = paths.states[near], leaving[near]
    quarters = onsets.state_quarters[states]
    found: list[Departure] = []
    # The cheapest first; of equals the first one in the score.
    while least < NEVER and len(found) < MOST_DEPARTURES:
        equal = (cost == least).nonzero()[0]
        at = equal.item(states[equal].argmin())
        found.append(Departure(near.item(at), states.item(at), least, slips.item(near.item(at))))
        cost[np.abs(quarters - quarters[at]) < costs.beats_quarters] = NEVER
        least = cost.item(cost.argmin())
    return found


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
        # Where the player began before, and what it costs to begin there again.
        self._landings: tuple[float, ...] = ()
        self._known: list[int] = []
        self._known_cost = np.full(onsets.size, NEVER)

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
        this = self._opening.item(start.state)
        before = self._opening.item(max(0, this - 1))
        chain = self._onsets.state_chain
        here = [this, before] if chain.item(before) == chain.item(this) else [this]
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
        if self._onsets.state_quarters.item(start.state) in habits.ends:
            readiness = max(readiness - c.ended_here_before, c.jump_after_long_pause)
        return start.cost + readiness

    def costs_of(
        self,
        states: NDArray[np.intp],
        left: NDArray[np.intp],
        by_slip: NDArray[np.bool_],
        habits: Habits,
    ) -> NDArray[np.float64]:
        """Cost of starting anew at some states, besides the readiness to do so.

        Parameters
        ----------
        states, left
            Where, and the state where the player was.
        by_slip
            Whether a slip made them stop.
        """
        self._look_up_landings(habits)
        o, c = self._onsets, self._costs
        behind = o.state_quarters[left]
        behind -= o.state_quarters[states]
        measures = self._measure[left]
        measures -= self._measure[states]
        measures += self._last_measure
        jump: NDArray[np.float64] = self._by_measures[measures]
        jump += self._inside[states]
        close = behind <= c.beats_quarters
        near = behind > SAME_ONSET_QUARTERS
        near &= close
        np.putmask(jump, near, np.minimum(jump, c.landing_beats))
        close &= behind >= -SAME_ONSET_QUARTERS
        np.putmask(jump, np.abs(behind) < SAME_ONSET_QUARTERS, c.landing_here)
        self._prefer_known(states, jump, behind)
        # A slip is a reason to try again from close by, not to leap elsewhere.
        jump -= (by_slip & ~close) * c.retry_after_slip
        jump += (o.state_chain[states] != o.state_chain[left]) * c.other_hands
        return jump

    def _prefer_known(
        self, states: NDArray[np.intp], jump: NDArray[np.float64], behind: NDArray[np.float64]
    ) -> None:
        """Make it cheap to begin where the player began before, above all within a passage."""
        if not self._known:
            return
        known = self._known_cost[states]
        found = (known < NEVER).nonzero()[0]
        if not len(found):
            return
        away = np.abs(behind[found]) / self._costs.passage_quarters
        cost = known[found] + self._costs.passage_farther * np.log(np.maximum(away, 1.0))
        jump[found] = np.minimum(jump[found], cost)
