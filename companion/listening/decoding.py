"""Where in the score each played note belongs: a decoder over onsets that knows how pianists err.

The method is a hidden Markov model over the onsets of the score, run note by note in costs
(negative logarithms of probabilities, natural base; lower is likelier). It follows the family of
models of Nakamura, Nakamura & Sagayama (J. New Music Res. 44, 2015; IEEE/ACM TASLP 24, 2016:
score following with arbitrary repeats and skips) and Gingras & McAdams (J. New Music Res. 40,
2011: matching with ornaments and errors) [both cited from memory], with additions of our own:

- Three chains of onsets (both hands, right alone, left alone) compete all the time.
- Each state carries what its best path has learnt: the tempo, when the onset was reached, which of
  its keys have sounded. So chords may come in any order, a key heard twice is not a chord note, and
  an advance is judged by the tempo of *that* hypothesis.
- A note either completes the present onset, is added beside it (brushed key, ornament, key struck
  again), stands wrongly for a note of it, or reaches one of the next ``MAX_STRIDE`` onsets.
- Or the player has jumped: a new path starts at any onset with that key, from the best path so
  far. Going back a little, and doing so after a pause, is likelier than anything else.

One update is a few dozen vector operations over all states, no loop over the score.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.score_onsets import PADDING, PITCHES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.score_onsets import ScoreOnsets

MAX_STRIDE = PADDING
SETTLED_ONSETS = 3
"""After so many onsets a path is believed: its tempo, and the place where it began."""

REMEMBERED_LANDINGS = 6
"""So many places where the player began are expected to be begun at again."""

PAUSE_SECONDS = 0.4
"""No pause is shorter: time for the hands to move."""

RIVAL_COST = 6.0
"""A path elsewhere that costs this much more is no rival."""

NEVER = 1e6
"""A cost that nothing comes back from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What each happening costs, in nats. Chosen by hand as rounded logarithms of plausible rates.

    They are few on purpose; the results move little when one of them moves by a third.
    """

    wrong: float = 3.5  # one key in thirty is a wrong one
    added_near: float = 4.0  # a brushed neighbour
    added_again: float = 4.0  # a key of this onset struck again
    added_far: float = 6.0
    added_alone: float = 0.7  # more: brushed keys come together with meant ones
    added_after_pause: float = 3.0  # more: what is struck after a pause is meant
    added_in_ornament: float = 0.8
    soft: float = 0.6
    soft_added_relief: float = 2.0  # a brushed key is softer than its neighbours
    trill_relief: float = 2.5  # added notes that alternate quickly
    missed_note: float = 3.0
    late_for_onset: float = 0.5  # of the onset before, struck after this one began
    late_seconds: float = 0.25
    skipped_onset: float = 0.7
    late_in_chord_per_second: float = 20.0
    late_in_chord_most: float = 4.0
    chord_window_seconds: float = 0.05
    timing_spread: float = 0.45  # logarithm of tempo, between neighbouring onsets
    first_timing_spread: float = 0.6  # before the tempo is known
    onset_spread_seconds: float = 0.03
    timing_most: float = 3.0  # hesitations are unforeseeable: no more than this
    # Starting anew: how readily, by the wait before it, in multiples of the expected one ...
    shortest_wait_seconds: float = 0.15
    pause_from: float = 1.5
    jump_at_once: float = 8.0
    jump_after_pause: float = 5.3
    jump_per_pause: float = 2.1  # less, per e-fold of the wait
    jump_after_long_pause: float = -0.5
    # ... and where to: per onset, mostly a little back.
    landing_here: float = 1.8
    landing_behind: float = 2.5
    landing_ahead: float = 4.0
    landing_farther: float = 1.6  # per doubling of the distance
    landing_quarters: float = 4.0
    landing_anywhere: float = 12.0
    passage_quarters: float = 32.0  # what is practised over and over is seldom longer
    landing_once: float = 2.5  # where the player began before
    landing_often: float = 1.0
    landing_on_downbeat: float = -0.5
    landing_off: float = 1.5
    ended_here_before: float = 2.0
    found_again: float = 12.0  # from nowhere to any onset
    other_hands: float = 1.5
    unfinished_note: float = 1.0  # an onset left by a jump before it was complete
    jump_back: float = 9.0
    jump_same: float = 7.0
    lost_note: float = 3.2  # a note explained by nothing written
    lost_entry: float = 8.0
    tempo_prior: float = 0.3
    tempo_learning: float = 0.25
    tempo_learning_faster: float = 0.4  # only hesitations mislead, and they are slow
    usual_seconds_per_quarter: float = 0.6
    beam: float = 17.0


_CHORD, _ADDED, _WRONG_IN_CHORD, _ADVANCE = range(4)
_ADVANCE_WRONG = _ADVANCE + MAX_STRIDE
_JUMP = _ADVANCE_WRONG + MAX_STRIDE
"""How a path took a note; an advance by ``stride`` onsets is ``_ADVANCE + stride - 1``."""


class Taken(Enum):
    """How the likeliest path took a note."""

    RIGHT = "right"
    WRONG = "wrong"
    ADDED = "added"
    JUMP = "jump"


_SUBSTITUTION = {1: 0.0, 2: 0.3, 3: 1.3, 12: 1.0}
"""Extra cost of a wrong key by its distance in semitones: neighbours first, then the octave."""
_SUBSTITUTION_ELSE = 3.0


_COST, _REACHED, _TEMPO, _ADVANCES, _LEFT, _OWED, _LANDED, _CAME_FROM = range(8)
"""Columns of a path's memory: cost, when its onset was reached (seconds), seconds per quarter,
onsets passed since it began, keys of its onset still to come, keys of the onsets just before that
never came, where it began and where the player was before (quarters)."""


@dataclass(frozen=True, slots=True)
class Memory:
    """What a decoder knows at one moment; see :meth:`PlaceDecoder.remember`."""

    active: NDArray[np.intp]
    move: NDArray[np.int64]
    paths: NDArray[np.float64]
    heard: NDArray[np.int64]
    jump_source: int
    best: int
    lost_cost: float
    notes_heard: int
    last_seconds: float
    velocity: float
    recent: list[tuple[float, int]]
    usual_tempo: float
    readiness: float
    landings: list[float]
    ends: list[float]
    settled_seconds: float


_STRIDES = np.arange(1, MAX_STRIDE + 1)[:, np.newaxis]


class PlaceDecoder:
    """The competing paths through the score after the notes heard so far.

    Parameters
    ----------
    onsets
        The laid out score.
    costs
        The model.

    Attributes
    ----------
    active
        States with a path worth keeping, in rising order.
    best
        The state of the likeliest path, -1 before there is one.
    move
        How each active state's path took the last note (the codes above).
    jump_source
        The state from which the paths that jumped with the last note came; -1 at the start.
    last_cost
        What the last note added to the cost of the best path.
    lost_cost
        Cost of "the last notes are nothing that is written", the best path being 0.
    """

    def __init__(self, onsets: ScoreOnsets, costs: Costs | None = None) -> None:
        self.onsets = onsets
        self.costs = costs or Costs()
        size = onsets.size
        self._tables: dict[int, _PitchTables] = {}
        quarters = onsets.state_quarters
        c = self.costs
        self._per_quarter = np.ones((MAX_STRIDE, size))
        self._skip = np.zeros((MAX_STRIDE, size))
        self._skipped_keys = np.zeros((MAX_STRIDE, size))
        skip_one = c.skipped_onset + c.missed_note * onsets.keys
        for stride in range(1, MAX_STRIDE + 1):
            gap = np.maximum(quarters[stride:] - quarters[:-stride], 0.03)
            self._per_quarter[stride - 1, stride:] = 1.0 / gap
            for between in range(1, stride):
                self._skip[stride - 1, between:] += skip_one[: size - between]
                self._skipped_keys[stride - 1, between:] += onsets.keys[: size - between]
        self._downbeat = np.where(
            onsets.opens_measure,
            c.landing_on_downbeat,
            np.where(onsets.on_quarter, 0.0, c.landing_off),
        )
        self._padding = np.flatnonzero(onsets.padding)
        self._marked = np.zeros(size, np.bool_)
        self._landing = np.full(size, NEVER)
        self._elsewhere = np.zeros(0, np.bool_)
        self.forget()

    def forget(self) -> None:
        """Start anew: no note heard."""
        size = self.onsets.size
        self._paths = np.zeros((size, 8))
        self._paths[:, _COST] = NEVER
        self._paths[:, _TEMPO] = self.costs.usual_seconds_per_quarter
        self._heard = np.zeros(size, np.int64)
        self.active = np.zeros(0, np.intp)
        self.move = np.zeros(0, np.int64)
        self.jump_source = -1
        self.best = -1
        self.lost_cost = 0.0
        self.last_cost = 0.0
        self.notes_heard = 0
        self._last_seconds = 0.0
        self._velocity = 64.0
        self._recent: list[tuple[float, int]] = []
        self._usual_tempo = self.costs.usual_seconds_per_quarter
        self._readiness = self.costs.jump_at_once
        self._landings: list[float] = []
        self._ends: list[float] = []
        self._settled_seconds = -1.0

    # ------------------------------------------------------------------ what is known
    def cost_of(self, state: int) -> float:
        """Cost of the path that ends at a state, 0 for the best, ``NEVER`` where there is none."""
        return float(self._paths[state, _COST])

    @property
    def active_costs(self) -> NDArray[np.float64]:
        """Costs of the active states."""
        costs: NDArray[np.float64] = self._paths[self.active, _COST]
        return costs

    def tempo_of(self, state: int) -> tuple[float, int]:
        """Seconds per quarter of a state's path, and after how many onsets."""
        return float(self._paths[state, _TEMPO]), int(self._paths[state, _ADVANCES])

    def taken(self) -> Taken:
        """How the best path took the last note; only after a note that has a place."""
        move = int(self.move[np.flatnonzero(self.active == self.best)[0]])
        if move == _JUMP:
            return Taken.JUMP
        if move == _ADDED:
            return Taken.ADDED
        wrong = move == _WRONG_IN_CHORD or move >= _ADVANCE_WRONG
        return Taken.WRONG if wrong else Taken.RIGHT

    def begin_at(self, state: int, seconds: float, seconds_per_quarter: float) -> None:
        """Start anew with the player known to be at an onset, all its keys heard."""
        self.forget()
        self._paths[state] = (
            *(0.0, seconds, seconds_per_quarter, SETTLED_ONSETS, 0.0, 0.0),
            *(float(self.onsets.state_quarters[state]), -1.0),
        )
        self._heard[state] = -1
        self.active, self.move = np.array([state]), np.array([_CHORD])
        self.best, self._last_seconds, self.notes_heard = state, seconds, 1

    def remember(self) -> Memory:
        """Everything the decoder knows now, to come back to."""
        return Memory(
            self.active,
            self.move,
            self._paths[self.active],
            self._heard[self.active],
            self.jump_source,
            self.best,
            self.lost_cost,
            self.notes_heard,
            self._last_seconds,
            self._velocity,
            self._recent,
            self._usual_tempo,
            self._readiness,
            self._landings,
            self._ends,
            self._settled_seconds,
        )

    def go_back_to(self, memory: Memory) -> None:
        """Forget all that was heard since :meth:`remember`."""
        self._paths[self.active, _COST] = NEVER
        self.active, self.move = memory.active, memory.move
        self._paths[self.active] = memory.paths
        self._heard[self.active] = memory.heard
        self.jump_source, self.best = memory.jump_source, memory.best
        self.lost_cost, self.notes_heard = memory.lost_cost, memory.notes_heard
        self._last_seconds, self._velocity = memory.last_seconds, memory.velocity
        self._recent, self._usual_tempo = memory.recent, memory.usual_tempo
        self._readiness, self._landings = memory.readiness, memory.landings
        self._ends, self._settled_seconds = memory.ends, memory.settled_seconds

    def pauses(self, seconds: float) -> bool:
        """Whether a note at this time would come after a pause."""
        since = seconds - self._last_seconds
        expected = max(self._expected_wait(self.best), self.costs.shortest_wait_seconds)
        return since > PAUSE_SECONDS and since > self.costs.pause_from * expected

    def is_settled(self) -> bool:
        """Whether no other place in the score competes with the best path."""
        if self.best < 0 or self._paths[self.best, _ADVANCES] < SETTLED_ONSETS:
            return False
        away = np.abs(self.active - self.best) > 2 * MAX_STRIDE
        costs = self._paths[self.active[away], _COST]
        return not len(costs) or float(costs.min()) > RIVAL_COST

    # ------------------------------------------------------------------ one more note
    def hear(self, seconds: float, pitch: int, velocity: int, *, may_jump: bool = True) -> None:
        """Update all paths with one more note.

        Parameters
        ----------
        seconds, pitch, velocity
            The note; times never go back.
        may_jump
            False keeps out new paths: a cheaper update, for notes known to lie in one passage.
        """
        if self.notes_heard == 0:
            self._velocity = float(velocity)
        if self.onsets.size > PADDING:
            tables = self._tables_of(pitch)
            if self.best < 0:
                self._begin(tables, seconds)
            else:
                self._go_on(tables, seconds, pitch, velocity, may_jump=may_jump)
        self._velocity += 0.1 * (velocity - self._velocity)
        self._recent = [*self._recent[-3:], (seconds, pitch)]
        self._last_seconds = seconds
        self.notes_heard += 1

    def _begin(self, tables: _PitchTables, seconds: float) -> None:
        states = tables.written
        if not len(states):
            return
        self._paths[states] = (0.0, seconds, self._usual_tempo, 0.0, 0.0, 0.0, 0.0, -1.0)
        self._paths[states, _LANDED] = self.onsets.state_quarters[states]
        self._paths[states, _LEFT] = self.onsets.keys[states] - 1.0
        self._heard[states] = tables.bits[states]
        self.jump_source = -1
        self.lost_cost = self.costs.lost_note
        self._keep(states, np.zeros(len(states)), np.full(len(states), _JUMP))

    def _go_on(
        self, tables: _PitchTables, seconds: float, pitch: int, velocity: int, *, may_jump: bool
    ) -> None:
        o, c = self.onsets, self.costs
        since = seconds - self._last_seconds
        states = self._reachable(tables)
        if not may_jump and not len(states):
            states = self.active
        bits = tables.bits[states]
        is_written = bits != 0
        wrong = tables.wrong[states]
        here = self._paths.take(states, axis=0)
        heard = self._heard[states]

        # Staying: the onset goes on, or the note is added to it.
        late = since - c.chord_window_seconds
        late = min(c.late_in_chord_most, max(0.0, late) * c.late_in_chord_per_second)
        hesitation, readiness = self._wait(since)
        relief = c.soft_added_relief if velocity < c.soft * self._velocity else 0.0
        added = tables.added[states] + (hesitation - relief)
        if since > c.chord_window_seconds:
            added += c.added_alone
        if since > c.chord_window_seconds and readiness < c.jump_at_once:
            added += c.added_after_pause
        late_now = tables.late[states] & (here[:, _OWED] > 0.5)
        late_now &= seconds - here[:, _REACHED] < c.late_seconds
        added[late_now] = c.late_for_onset
        since_reached = seconds - here[:, _REACHED]
        if self._alternates(seconds, pitch):
            lasts = 1.2 * o.longest_quarters[states] * here[:, _TEMPO] + 0.1
            added[since_reached < lasts] -= c.trill_relief
        lasts = 1.2 * o.ornament_quarters[states] * here[:, _TEMPO] + 0.1
        added[tables.adorning[states] & (since_reached < lasts)] = c.added_in_ornament
        fresh = (bits & ~heard) != 0
        wrong_here = wrong + late
        wrong_here[here[:, _LEFT] < 0.5] = NEVER
        stay = np.minimum(added, wrong_here)
        move = np.where(wrong_here < added, _WRONG_IN_CHORD, _ADDED)
        stay[fresh] = late
        move[fresh] = _CHORD
        stay += here[:, _COST]

        # Advancing by one to MAX_STRIDE onsets.
        before = self._paths.take(states - _STRIDES, axis=0)
        per_quarter = self._per_quarter.take(states, axis=1)
        expected_rate = per_quarter / before[..., _TEMPO]
        ratio = (seconds - before[..., _REACHED]) * expected_rate
        np.maximum(ratio, 0.02, out=ratio)
        known = np.where(before[..., _ADVANCES] < 0.5, c.first_timing_spread**2, c.timing_spread**2)
        expected_rate *= c.onset_spread_seconds
        known += expected_rate * expected_rate
        advance = (ratio + 1.0 / ratio - 2.0) / (2.0 * known)
        np.minimum(advance, c.timing_most, out=advance)
        advance += before[..., _COST]
        advance += c.missed_note * before[..., _LEFT]
        advance += self._skip.take(states, axis=1)
        stride = advance.argmin(axis=0)
        column = np.arange(len(states))
        cost = advance[stride, column]
        cost[~is_written] += wrong[~is_written]
        arrives = cost < stay
        np.copyto(cost, stay, where=~arrives)
        np.copyto(move, stride + np.where(is_written, _ADVANCE, _ADVANCE_WRONG), where=arrives)

        # What the chosen path knows.
        came = before[stride, column]
        count = came[:, _ADVANCES] + 1.0
        observed = (seconds - came[:, _REACHED]) * per_quarter[stride, column]
        tempo, began = came[:, _TEMPO], came[:, _LANDED:]
        change = np.log(np.maximum(observed, 1e-3) / tempo)
        reach = np.where(count < 1.5, 1.4, 0.5)
        learn = np.maximum(1.0 / (count + c.tempo_prior), c.tempo_learning)
        learn[change < 0] = np.maximum(learn[change < 0], c.tempo_learning_faster)
        np.maximum(change, -reach, out=change)
        np.minimum(change, reach, out=change)
        tempo *= np.exp(learn * change)
        np.maximum(tempo, 0.05, out=tempo)
        np.minimum(tempo, 8.0, out=tempo)
        jumps = np.zeros(len(states), np.bool_)
        landed = np.zeros(0, np.intp)
        landed_cost = np.zeros(0)
        came_from = -1.0
        if may_jump:
            jump = self._jump_costs(tables.written, hesitation + readiness)
            self._landing[tables.written] = jump
            jump_here = self._landing[states]
            self._landing[tables.written] = NEVER
            jumps = jump_here < cost
            np.copyto(cost, jump_here, where=jumps)
            move[jumps] = _JUMP
            arrives |= jumps
            count[jumps] = 0.0
            tempo[jumps] = self._usual_tempo
            came_from = float(o.state_quarters[self.jump_source])
            began[jumps, 0] = o.state_quarters[states[jumps]]
            began[jumps, 1] = came_from
            elsewhere = self._elsewhere & (jump < c.beam + float(cost.min(initial=c.beam)))
            landed, landed_cost = tables.written[elsewhere], jump[elsewhere]
        np.copyto(here[:, _TEMPO], tempo, where=arrives)
        np.copyto(here[:, _ADVANCES], count, where=arrives)
        np.copyto(here[:, _LANDED:], began, where=arrives[:, np.newaxis])
        here[arrives, _REACHED] = seconds
        np.copyto(here[:, _LEFT], o.keys[states], where=arrives)
        here[:, _LEFT] -= move != _ADDED
        np.maximum(here[:, _LEFT], 0.0, out=here[:, _LEFT])
        heard |= bits
        np.copyto(heard, bits, where=arrives)
        here[:, _OWED] -= late_now & (move == _ADDED)
        owed = came[:, _LEFT] + self._skipped_keys[stride, states]
        owed[jumps] = 0.0
        np.copyto(here[:, _OWED], owed, where=arrives)
        self._paths[self.active, _COST] = NEVER
        self._paths[states] = here
        self._heard[states] = heard
        if len(landed):
            self._paths[landed] = (0.0, seconds, self._usual_tempo, 0.0, 0.0, 0.0, 0.0, came_from)
            self._paths[landed, _LANDED] = o.state_quarters[landed]
            self._paths[landed, _LEFT] = o.keys[landed] - 1.0
            self._heard[landed] = tables.bits[landed]
            states = np.concatenate((states, landed))
            cost = np.concatenate((cost, landed_cost))
            move = np.concatenate((move, np.full(len(landed), _JUMP)))
        self.lost_cost = min(self.lost_cost + c.lost_note, c.lost_entry) + hesitation
        self._keep(states, cost, move)

    def _reachable(self, tables: _PitchTables) -> NDArray[np.intp]:
        """States that are worth reaching with the next note by a path that goes on.

        A path that is nearly given up can only be saved by a right note, so it is only followed
        to where the key is written. ``_elsewhere`` remembers which of those places are left over.
        """
        marked, active = self._marked, self.active
        weak = self._paths[active, _COST] > self.costs.beam - self.costs.wrong
        faint = active[weak]
        for stride in range(MAX_STRIDE + 1):
            marked[faint + stride] = True
        written = tables.written
        saved = marked[written]
        for stride in range(MAX_STRIDE + 1):
            marked[faint + stride] = False
        marked[written] = saved
        strong = active[~weak]
        for stride in range(MAX_STRIDE + 1):
            marked[strong + stride] = True
        marked[self._padding] = False
        self._elsewhere = ~marked[written]
        states = np.flatnonzero(marked)
        marked[states] = False
        return states

    def _wait(self, since: float) -> tuple[float, float]:
        """What a wait costs whoever goes on, and what it says against a new start.

        A pause is a hesitation or the moment before starting anew; without one nobody jumps.
        """
        c = self.costs
        if since < c.chord_window_seconds:
            return 0.0, self._readiness  # still the chord that came after the pause
        ratio = max(1.0, since / max(self._expected_wait(self.best), c.shortest_wait_seconds))
        hesitation = min(c.timing_most, (ratio + 1.0 / ratio - 2.0) / (2.0 * c.timing_spread**2))
        self._readiness = c.jump_at_once
        if ratio >= c.pause_from:
            odds = c.jump_after_pause - c.jump_per_pause * float(np.log(ratio / c.pause_from))
            self._readiness = max(odds, c.jump_after_long_pause)
        return hesitation, self._readiness

    def _jump_costs(self, states: NDArray[np.intp], readiness: float) -> NDArray[np.float64]:
        """Cost of starting anew at each of some states."""
        o, c = self.onsets, self.costs
        source, base = self._jump_from()
        behind = o.state_quarters[source] - o.state_quarters[states]
        jump = np.where(behind >= 0, c.landing_behind, c.landing_ahead)
        jump += c.landing_farther * np.log2(1.0 + np.abs(behind) / c.landing_quarters)
        np.minimum(jump, c.landing_anywhere, out=jump)
        jump[np.abs(behind) < 1e-3] = c.landing_here
        for place in set(self._landings):
            again = np.abs(o.state_quarters[states] - place) < 1e-3
            known = c.landing_once if self._landings.count(place) == 1 else c.landing_often
            away = abs(float(o.state_quarters[source]) - place) / c.passage_quarters
            known += c.landing_farther * max(0.0, math.log2(max(away, 1.0)))
            jump[again] = np.minimum(jump[again], known)
        jump[o.state_chain[states] != o.state_chain[source]] += c.other_hands
        jump += self._downbeat[states]
        if float(o.state_quarters[source]) in self._ends:
            readiness = max(readiness - c.ended_here_before, c.jump_after_long_pause)
        jump += base + readiness
        return np.minimum(jump, self.lost_cost + c.found_again)

    def _jump_from(self) -> tuple[int, float]:
        """The path that jumps: the cheapest one, onsets left unfinished counted in part."""
        paths = self._paths[self.active]
        leaving = paths[:, _COST] + self.costs.unfinished_note * paths[:, _LEFT]
        at = int(leaving.argmin())
        self.jump_source = int(self.active[at])
        return self.jump_source, float(leaving[at])

    def _keep(
        self, states: NDArray[np.intp], cost: NDArray[np.float64], move: NDArray[np.int64]
    ) -> None:
        """Make the best path cost 0, drop hopeless ones."""
        self._paths[states, _COST] = NEVER
        best = int(cost.argmin())
        lowest = float(cost[best])
        self.last_cost = lowest
        self.lost_cost -= lowest
        cost = cost - lowest
        kept = cost < self.costs.beam
        self.active = states[kept]
        self.move = move[kept]
        self._paths[self.active, _COST] = cost[kept]
        self.best = int(states[best])
        if self._paths[self.best, _ADVANCES] >= SETTLED_ONSETS:
            self._settle()

    def _settle(self) -> None:
        """Believe the best path: learn its tempo and where it began."""
        path = self._paths[self.best]
        self._usual_tempo = float(path[_TEMPO])
        landing = float(path[_LANDED])
        just = path[_ADVANCES] == SETTLED_ONSETS and path[_REACHED] != self._settled_seconds
        if just or not self._landings or self._landings[-1] != landing:
            self._settled_seconds = float(path[_REACHED])
            self._landings = [*self._landings[1 - REMEMBERED_LANDINGS :], landing]
            self._ends = [*self._ends[1 - REMEMBERED_LANDINGS :], float(path[_CAME_FROM])]

    def _expected_wait(self, state: int) -> float:
        """Seconds from this onset to the next one at the tempo of the path."""
        o = self.onsets
        if state + 1 >= o.size or o.padding[state + 1]:
            return float(self._paths[state, _TEMPO])
        gap = o.state_quarters[state + 1] - o.state_quarters[state]
        return float(gap * self._paths[state, _TEMPO])

    def _alternates(self, seconds: float, pitch: int) -> bool:
        """Whether this note goes back and forth quickly with a near key: a trill."""
        if len(self._recent) < 2:
            return False
        (t1, p1), (_, p2) = self._recent[-2], self._recent[-1]
        return p1 == pitch and 0 < abs(p2 - pitch) <= 2 and seconds - t1 < 0.4

    def _tables_of(self, pitch: int) -> _PitchTables:
        tables = self._tables.get(pitch)
        if tables is None:
            tables = self._tables[pitch] = _pitch_tables(self.onsets, self.costs, pitch)
        return tables


@dataclass(frozen=True, slots=True)
class _PitchTables:
    """What one key means at every state."""

    written: NDArray[np.intp]  # the states where it is written
    bits: NDArray[np.int64]  # its mask there, 0 elsewhere
    wrong: NDArray[np.float64]  # cost of standing for another key
    added: NDArray[np.float64]  # cost of standing for nothing
    adorning: NDArray[np.bool_]  # may belong to an ornament
    late: NDArray[np.bool_]  # written one or two onsets before


def _pitch_tables(onsets: ScoreOnsets, costs: Costs, pitch: int) -> _PitchTables:
    written = onsets.written[pitch]
    bits = np.where(written, np.left_shift(np.int64(1), onsets.slot[pitch].astype(np.int64)), 0)

    def within(*distances: int, among: NDArray[np.bool_] = onsets.written) -> NDArray[np.bool_]:
        found = np.zeros(onsets.size, np.bool_)
        for distance in distances:
            for other in {pitch - distance, pitch + distance}:
                if 0 <= other < PITCHES:
                    found |= among[other]
        return found

    wrong = np.full(onsets.size, costs.wrong + _SUBSTITUTION_ELSE)
    for distance in sorted(_SUBSTITUTION, key=_SUBSTITUTION.__getitem__, reverse=True):
        wrong[within(distance)] = costs.wrong + _SUBSTITUTION[distance]
    added = np.full(onsets.size, costs.added_far)
    added[within(1, 2)] = costs.added_near
    late = np.zeros(onsets.size, np.bool_)
    for away in (1, 2):
        late[away:] |= written[:-away]
    added[written] = costs.added_again
    added[written] = costs.added_again
    adorning = within(0, 1, 2, 3, 4, among=onsets.adorned)
    return _PitchTables(np.flatnonzero(written), bits, wrong, added, adorning, late)


def is_jump(move: int) -> bool:
    """Whether a path took a note by starting anew."""
    return move == _JUMP


def is_advance(move: int) -> bool:
    """Whether a path took a note by going on to a later onset."""
    return _ADVANCE <= move < _JUMP


def is_right(move: int) -> bool:
    """Whether a path took a note for a written one with that key."""
    return move in (_CHORD, _JUMP) or _ADVANCE <= move < _ADVANCE_WRONG


def is_wrong(move: int) -> bool:
    """Whether a path took a note for a slip of the finger."""
    return move == _WRONG_IN_CHORD or _ADVANCE_WRONG <= move < _JUMP


def stride_of(move: int) -> int:
    """By how many onsets an advance moved on."""
    return (move - _ADVANCE) % MAX_STRIDE + 1
