"""Starting anew: how likely a player is to jump, and where to.

A pause is a hesitation or the moment before starting anew; without one hardly anybody jumps.
Mostly a player goes a little back, or to where they began before.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.paths import LEFT, SLIPPED, Paths
from companion.listening.decoding.recent_notes import Wait

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.habits import Habits
    from companion.listening.decoding.score_onsets import ScoreOnsets

SAME_ONSET_QUARTERS = 1e-3


@dataclass(frozen=True, slots=True)
class Departure:
    """The path that jumps: from which state, at which cost, and whether a slip made it stop."""

    state: int
    cost: float
    by_slip: bool


def weigh_wait(costs: Costs, seconds: float, expected_seconds: float, before: float) -> Wait:
    """What a wait costs whoever goes on, and what it says against a new start.

    Parameters
    ----------
    seconds
        Since the last note.
    expected_seconds
        Until the next onset.
    before
        Readiness at the note before.
    """
    c = costs
    if seconds < c.chord_window_seconds:
        return Wait(seconds, 0.0, before)  # still the chord that came after the pause
    ratio = max(1.0, seconds / max(expected_seconds, c.shortest_wait_seconds))
    hesitation = min(c.timing_most, (ratio + 1.0 / ratio - 2.0) / (2.0 * c.timing_spread**2))
    if ratio < c.pause_from:
        return Wait(seconds, hesitation, c.jump_at_once)
    odds = c.jump_after_pause - c.jump_per_pause * math.log(ratio / c.pause_from)
    return Wait(seconds, hesitation, max(odds, c.jump_after_long_pause))


def departure(costs: Costs, paths: Paths) -> Departure:
    """The path that jumps: the cheapest one, onsets left unfinished counted in part."""
    leaving = paths.costs + costs.unfinished_note * paths.table[LEFT, paths.active]
    slips = (paths.heard[paths.active] & SLIPPED) != 0
    leaving[slips] += costs.retry_after_slip
    at = int(leaving.argmin())
    return Departure(int(paths.active[at]), float(leaving[at]), bool(slips[at]))


class Landings:
    """Where players start anew."""

    def __init__(self, onsets: ScoreOnsets, costs: Costs) -> None:
        self._onsets = onsets
        self._costs = costs
        self._by_meter = np.where(
            onsets.opens_measure,
            costs.landing_on_downbeat,
            np.where(onsets.on_quarter, 0.0, costs.landing_off),
        )

    def costs_of(
        self, states: NDArray[np.intp], start: Departure, readiness: float, habits: Habits
    ) -> NDArray[np.float64]:
        """Cost of starting anew at each of some states."""
        o, c = self._onsets, self._costs
        here = float(o.state_quarters[start.state])
        behind = here - o.state_quarters[states]
        away = np.abs(behind)
        same = away < SAME_ONSET_QUARTERS
        jump = np.where(behind >= 0, c.landing_behind, c.landing_ahead)
        jump += c.landing_farther * np.log2(1.0 + away / c.landing_quarters)
        np.minimum(jump, c.landing_anywhere, out=jump)
        jump[same] = c.landing_here
        self._prefer_known(states, jump, here, habits)
        if start.by_slip:  # a reason to try again from close by, not to leap elsewhere
            far = (behind < -SAME_ONSET_QUARTERS) | (behind > c.landing_quarters)
            jump[far] -= c.retry_after_slip
        jump[o.state_chain[states] != o.state_chain[start.state]] += c.other_hands
        # Striking the same onset again has nothing to do with where barlines are.
        jump += np.where(same, 0.0, self._by_meter[states])
        if here in habits.ends:
            readiness = max(readiness - c.ended_here_before, c.jump_after_long_pause)
        jump += start.cost + readiness
        return jump

    def _prefer_known(
        self, states: NDArray[np.intp], jump: NDArray[np.float64], here: float, habits: Habits
    ) -> None:
        """Make it cheap to begin where the player began before, above all within a passage."""
        o, c = self._onsets, self._costs
        for place in set(habits.landings):
            known = c.landing_once if habits.landings.count(place) == 1 else c.landing_often
            away = max(1.0, abs(here - place) / c.passage_quarters)
            known += c.landing_farther * math.log2(away)
            for chain in range(len(o.chain_start)):
                if o.chain_end[chain] > o.chain_start[chain]:
                    state = o.state_of(chain, place)
                    at = int(states.searchsorted(state))
                    if at < len(states) and states[at] == state:
                        jump[at] = min(jump[at], known)
