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
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import NEVER, Costs
from companion.listening.decoding.moves import (
    ADDED,
    ADVANCE,
    CHORD,
    JUMP,
    MAX_STRIDE,
    WRITTEN_LEAP,
    WRONG_IN_CHORD,
    Taken,
    is_wrong,
)
from companion.listening.decoding.pitch_tables import PitchTables, pitch_tables
from companion.listening.decoding.score_onsets import PADDING

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.score_onsets import ScoreOnsets

SETTLED_ONSETS = 3
"""After so many onsets a path is believed: its tempo, and the place where it began."""

REMEMBERED_LANDINGS = 6
"""So many places where the player began are expected to be begun at again."""

PLAIN_COST = 4.0
PLAIN_CHANGE = 0.5
"""A note goes on plainly when no other path is this near and the tempo changes less than this."""

LOWEST_KEY, HIGHEST_KEY = 21, 108
"""The 88 keys as MIDI note numbers."""

PAUSE_SECONDS = 0.4
"""No pause is shorter: time for the hands to move."""

RIVAL_COST = 6.0
"""A path elsewhere that costs this much more is no rival."""


_COST, _REACHED, _TEMPO, _LEFT, _SPREAD, _ADVANCES, _OWED, _LANDED, _CAME_FROM = range(9)
_COLUMNS = 9
"""What a path remembers: cost, when its onset was reached (seconds), seconds per quarter, keys of
its onset still to come, how far time may be off (squared logarithm), onsets passed since it began,
keys of the onsets just before that never came, where it began and where the player was before
(quarters)."""


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
_REACH = np.arange(MAX_STRIDE + 1)[:, np.newaxis]

_IS_SLIP = np.array([is_wrong(move) for move in range(WRITTEN_LEAP + 1)])


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
        self._tables: dict[int, PitchTables] = {}
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
        self._skip[:, onsets.padding] = NEVER
        self._padding = np.flatnonzero(onsets.padding)
        self._marked = np.zeros(size, np.bool_)
        self._landing = np.full(size, NEVER)
        self._elsewhere = np.zeros(0, np.bool_)
        self._leap_nears = np.zeros(size, np.bool_)
        self._leap_nears[onsets.leaps.source] = True
        self._any_leaps = bool(len(onsets.leaps.source))
        self.forget()

    def prepare(self) -> None:
        """Work out the tables of all keys of the piano now, so that no note waits for them."""
        if self.onsets.size > PADDING:
            for pitch in range(LOWEST_KEY, HIGHEST_KEY + 1):
                self._tables_of(pitch)

    def forget(self) -> None:
        """Start anew: no note heard."""
        size = self.onsets.size
        # One path lies together in memory: they are fetched and put back state by state.
        self._paths = np.zeros((size, _COLUMNS)).T
        self._paths[_COST] = NEVER
        self._paths[_TEMPO] = self.costs.usual_seconds_per_quarter
        self._heard = np.zeros(size, np.int64)
        self.active = np.zeros(0, np.intp)
        self.move = np.zeros(0, np.int64)
        self.jump_source = -1
        self.leaps_taken: dict[int, int] = {}
        self.best = -1
        self.lost_cost = 0.0
        self.last_cost = 0.0
        self.notes_heard = 0
        self._last_seconds = 0.0
        self._velocity = 64.0
        self._recent: list[tuple[float, int]] = []
        self._usual_tempo = self.costs.usual_seconds_per_quarter
        self._readiness = self.costs.jump_at_once
        self._hesitation = 0.0
        self._left_by_slip = False
        self._landings: list[float] = []
        self._ends: list[float] = []
        self._settled_seconds = -1.0

    # ------------------------------------------------------------------ what is known
    def cost_of(self, state: int) -> float:
        """Cost of the path that ends at a state, 0 for the best, ``NEVER`` where there is none."""
        return float(self._paths[_COST, state])

    @property
    def active_costs(self) -> NDArray[np.float64]:
        """Costs of the active states."""
        costs: NDArray[np.float64] = self._paths[_COST, self.active]
        return costs

    def tempo_of(self, state: int) -> tuple[float, int]:
        """Seconds per quarter of a state's path, and after how many onsets."""
        return float(self._paths[_TEMPO, state]), int(self._paths[_ADVANCES, state])

    def taken(self) -> Taken:
        """How the best path took the last note; only after a note that has a place."""
        move = int(self.move[np.flatnonzero(self.active == self.best)[0]])
        if move == JUMP:
            return Taken.JUMP
        if move == WRITTEN_LEAP:
            return Taken.WRITTEN_LEAP
        if move == ADDED:
            return Taken.ADDED
        return Taken.WRONG if is_wrong(move) else Taken.RIGHT

    def leap_quarters(self) -> float:
        """Written time from onset to onset over the leap that the best path just took."""
        return float(self.onsets.leaps.quarters[self.leaps_taken[self.best]])

    def begin_at(self, state: int, seconds: float, seconds_per_quarter: float) -> None:
        """Start anew with the player known to be at an onset, all its keys heard."""
        self.forget()
        at = np.array([state])
        began = self.onsets.state_quarters[at]
        self._paths[:, at] = self._begun(at, began, seconds, -1.0)
        self._paths[[_TEMPO, _ADVANCES, _LEFT], state] = seconds_per_quarter, SETTLED_ONSETS, 0.0
        self._heard[state] = -1
        self.active, self.move = np.array([state]), np.array([CHORD])
        self.best, self._last_seconds, self.notes_heard = state, seconds, 1

    def remember(self) -> Memory:
        """Everything the decoder knows now, to come back to."""
        return Memory(
            self.active,
            self.move,
            self._paths[:, self.active],
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
        self._paths[_COST, self.active] = NEVER
        self.active, self.move = memory.active, memory.move
        self._paths[:, self.active] = memory.paths
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
        if self.best < 0 or self._paths[_ADVANCES, self.best] < SETTLED_ONSETS:
            return False
        away = np.abs(self.active - self.best) > 2 * MAX_STRIDE
        costs = self._paths[_COST, self.active[away]]
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
        self._end_of_note(seconds, pitch, velocity)

    def hear_plainly(self, seconds: float, pitch: int, velocity: int) -> bool:
        """Take a note that goes on in the only plain way; False when it does not, and nothing done.

        Plain is the next key of a chord, or the next onset after a complete one, in time, while no
        other path is near. A run-through is mostly plain, and this costs a tenth of :meth:`hear`.
        """
        c, state = self.costs, self.best
        if self._any_leaps and self._leap_nears[state]:
            return False
        rivals = self._paths[_COST, self.active] < PLAIN_COST
        if int(rivals.sum()) != 1:
            return False
        tables = self._tables_of(pitch)
        bit, heard = int(tables.bits[state]), int(self._heard[state])
        path: list[float] = self._paths[:, state].tolist()  # plain numbers are quicker one by one
        since = seconds - path[_REACHED]
        if bit and not heard & bit:
            if since > c.chord_window_seconds:
                return False
            path[_LEFT] = max(0.0, path[_LEFT] - 1.0)
            bit, move = bit | heard, CHORD
        else:
            state += 1
            bit = int(tables.bits[state])
            rate = float(self._per_quarter[0, state])
            change = math.log(max(since * rate, 1e-3) / path[_TEMPO])
            if not bit or path[_LEFT] > 0.5 or abs(change) > PLAIN_CHANGE or self._skip[0, state]:
                return False
            path[_ADVANCES] += 1.0
            learning = c.tempo_learning_faster if change < 0 else c.tempo_learning
            path[_TEMPO] *= math.exp(
                change * max(learning, 1.0 / (path[_ADVANCES] + c.tempo_prior))
            )
            path[_REACHED], path[_SPREAD] = seconds, c.timing_spread**2
            path[_LEFT], path[_OWED] = max(0.0, float(self.onsets.keys[state]) - 1.0), 0.0
            move = ADVANCE
        path[_COST] = 0.0
        self._paths[_COST, self.active] = NEVER
        self._paths[:, state] = path
        self._heard[state] = bit
        self.active, self.move, self.best = np.array([state]), np.array([move]), state
        self.leaps_taken = {}
        self.lost_cost = min(self.lost_cost + c.lost_note, c.lost_entry)
        self.last_cost = 0.0
        self._usual_tempo = path[_TEMPO]
        self._readiness, self._hesitation = c.jump_at_once, 0.0
        self._end_of_note(seconds, pitch, velocity)
        return True

    def _end_of_note(self, seconds: float, pitch: int, velocity: int) -> None:
        self._velocity += 0.1 * (velocity - self._velocity)
        self._recent = [*self._recent[-3:], (seconds, pitch)]
        self._last_seconds = seconds
        self.notes_heard += 1

    def _begin(self, tables: PitchTables, seconds: float) -> None:
        states = tables.written
        if not len(states):
            return
        self.jump_source = -1
        self.lost_cost = self.costs.lost_note
        where = self.onsets.state_quarters[states]
        self._paths[:, states] = self._begun(states, where, seconds, -1.0)
        self._heard[states] = tables.bits[states]
        self.active, self.move = states, np.full(len(states), JUMP)
        self.best = int(states[0])

    def _go_on(
        self, tables: PitchTables, seconds: float, pitch: int, velocity: int, *, may_jump: bool
    ) -> None:
        """Take the cheapest way to each state, and keep the paths that are worth it."""
        c = self.costs
        hesitation, readiness = self._wait(seconds - self._last_seconds)
        states = self._reachable(tables)
        here = self._paths[:, states]
        stay, stay_move = self._staying(tables, states, here, seconds, pitch, velocity)
        advance, stride = self._advancing(states, seconds)
        advance += tables.slip[states]
        cost = np.minimum(stay, advance)
        move = np.where(advance < stay, stride + tables.advance_move[states], stay_move)
        if self._any_leaps:
            states, cost, move, stride = self._leap_as_written(
                tables, seconds, states, cost, move, stride
            )
        # Without a pause or any misfit nobody has jumped: not worth the work.
        doubtful = self.lost_cost < c.lost_entry - 1.0 or float(cost.min(initial=NEVER)) > 1.0
        if may_jump and (doubtful or readiness < c.jump_at_once):
            written = tables.written
            jump = self._jump_costs(written, hesitation + readiness)
            self._landing[written] = jump
            jump_here = self._landing[states]
            self._landing[written] = NEVER
            jumps = jump_here < cost
            cost[jumps] = jump_here[jumps]
            move[jumps] = JUMP
            worth = self._elsewhere & (jump < c.beam + float(cost.min(initial=c.beam)))
            if worth.any():
                states = np.concatenate((states, written[worth]))
                cost = np.concatenate((cost, jump[worth]))
                move = np.concatenate((move, np.full(len(states) - len(move), JUMP)))
                stride = np.concatenate((stride, np.zeros(len(states) - len(stride), np.intp)))
        self.lost_cost = min(self.lost_cost + c.lost_note, c.lost_entry) + hesitation
        self._keep(states, cost, move, stride, seconds, tables)

    def _staying(
        self,
        tables: PitchTables,
        states: NDArray[np.intp],
        here: NDArray[np.float64],
        seconds: float,
        pitch: int,
        velocity: int,
    ) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
        """Cost and move when the onset goes on, or the note is added to it."""
        o, c = self.onsets, self.costs
        since = seconds - self._last_seconds
        since_reached = seconds - here[_REACHED]
        bits = tables.bits[states]

        extra = self._hesitation - (c.soft_added_relief if self._is_soft(velocity) else 0.0)
        if since > c.chord_window_seconds:
            extra += c.added_alone
            if self._readiness < c.jump_at_once:
                extra += c.added_after_pause
        added = tables.added[states] + extra
        late_now = tables.late[states] & (here[_OWED] > 0.5) & (since_reached < c.late_seconds)
        added[late_now] = c.late_for_onset
        if self._alternates(seconds, pitch):
            added[since_reached < 1.2 * o.longest_quarters[states] * here[_TEMPO] + 0.1] -= (
                c.trill_relief
            )
        if tables.adorning_any:
            lasts = 1.2 * o.ornament_quarters[states] * here[_TEMPO] + 0.1
            added[tables.adorning[states] & (since_reached < lasts)] = c.added_in_ornament

        late = max(0.0, since - c.chord_window_seconds) * c.late_in_chord_per_second
        late = min(c.late_in_chord_most, late)
        wrong = tables.wrong[states] + late
        wrong[here[_LEFT] < 0.5] = NEVER
        slips = wrong < added
        stay = np.where(slips, wrong, added)
        move = slips * (WRONG_IN_CHORD - ADDED) + ADDED
        fresh = (bits & ~self._heard[states]) != 0
        stay[fresh] = late
        move[fresh] = CHORD
        stay += here[_COST]
        return stay, move

    def _advancing(
        self, states: NDArray[np.intp], seconds: float
    ) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
        """Cost of coming from the best of the onsets before, and which (0: the one before)."""
        c = self.costs
        before = self._paths[_COST : _SPREAD + 1].take(states - _STRIDES, axis=1)
        rate = self._per_quarter.take(states, axis=1)
        rate /= before[_TEMPO]
        ratio = (seconds - before[_REACHED]) * rate
        np.maximum(ratio, 0.02, out=ratio)
        rate *= c.onset_spread_seconds
        rate *= rate
        rate += before[_SPREAD]
        advance = ratio + 1.0 / ratio
        advance -= 2.0
        advance /= rate
        advance *= 0.5
        np.minimum(advance, c.timing_most, out=advance)
        advance += before[_COST]
        advance += c.missed_note * before[_LEFT]
        advance += self._skip.take(states, axis=1)
        return advance.min(axis=0), advance.argmin(axis=0)

    def _keep(
        self,
        states: NDArray[np.intp],
        cost: NDArray[np.float64],
        move: NDArray[np.int64],
        stride: NDArray[np.intp],
        seconds: float,
        tables: PitchTables,
    ) -> None:
        """Make the best path cost 0, drop hopeless ones, and let the others learn."""
        lowest = float(cost.min())
        kept = (cost < lowest + self.costs.beam).nonzero()[0]
        states, cost, move, stride = states[kept], cost[kept] - lowest, move[kept], stride[kept]
        paths = self._paths[:, states]
        heard = tables.bits[states]
        advances = ((move >= ADVANCE) & (move < JUMP)).nonzero()[0]
        stays = (move < ADVANCE).nonzero()[0]
        jumps = (move == JUMP).nonzero()[0]
        if len(stays):
            self._stay(paths, heard, states, move, stays, tables)
        if len(advances):
            to, over = states[advances], stride[advances]
            paths[:, advances] = self._learn(
                to - over - 1,
                to,
                self._per_quarter[over, to],
                self._skipped_keys[over, to],
                seconds,
            )
        for at in np.flatnonzero(move == WRITTEN_LEAP).tolist() if self.leaps_taken else ():
            leaps, leap = self.onsets.leaps, self.leaps_taken[int(states[at])]
            one = np.array([leap])
            paths[:, at : at + 1] = self._learn(
                leaps.source[one],
                leaps.target[one],
                1.0 / leaps.quarters[one],
                leaps.skipped_keys[one],
                seconds,
            )
        if len(jumps):
            began = self.onsets.state_quarters[states[jumps]]
            came_from = float(self.onsets.state_quarters[self.jump_source])
            paths[:, jumps] = self._begun(states[jumps], began, seconds, came_from)
        paths[_COST] = cost
        self._paths[_COST, self.active] = NEVER
        self._paths[:, states] = paths
        self._heard[states] = heard
        self.last_cost = lowest
        self.lost_cost -= lowest
        self.active, self.move = states, move
        self.best = int(states[cost.argmin()])
        if self._paths[_ADVANCES, self.best] >= SETTLED_ONSETS:
            self._settle()

    def _stay(
        self,
        paths: NDArray[np.float64],
        heard: NDArray[np.int64],
        states: NDArray[np.intp],
        move: NDArray[np.int64],
        stays: NDArray[np.intp],
        tables: PitchTables,
    ) -> None:
        """Update the paths that stay: what has sounded, and what is still to come."""
        added = move[stays] == ADDED
        heard[stays] |= self._heard[states[stays]]
        paths[_LEFT, stays] = np.maximum(paths[_LEFT, stays] - ~added, 0.0)
        late = added & tables.late[states[stays]]
        paths[_OWED, stays] = np.maximum(paths[_OWED, stays] - late, 0.0)

    def _leap_as_written(
        self,
        tables: PitchTables,
        seconds: float,
        states: NDArray[np.intp],
        cost: NDArray[np.float64],
        move: NDArray[np.int64],
        stride: NDArray[np.intp],
    ) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.int64], NDArray[np.intp]]:
        """Let the paths that stand before a repeat, an ending or a D.C. follow it, in time."""
        self.leaps_taken = {}
        c, leaps = self.costs, self.onsets.leaps
        here = self._paths[:, leaps.source]
        ready = np.flatnonzero((here[_COST] < c.beam) & (tables.bits[leaps.target] != 0))
        if not len(ready):
            return states, cost, move, stride
        here = here[:, ready]
        rate = 1.0 / leaps.quarters[ready] / here[_TEMPO]
        ratio = np.maximum((seconds - here[_REACHED]) * rate, 0.02)
        spread = here[_SPREAD] + (rate * c.onset_spread_seconds) ** 2
        timing = np.minimum((ratio + 1.0 / ratio - 2.0) / (2.0 * spread), c.timing_most)
        price = here[_COST] + timing + c.written_leap + c.missed_note * here[_LEFT]
        price += c.skipped_onset * leaps.skipped_onsets[ready]
        price += c.missed_note * leaps.skipped_keys[ready]
        for at, leap in sorted(zip(price.tolist(), ready.tolist(), strict=True)):
            target = int(leaps.target[leap])
            if target in self.leaps_taken:
                continue
            known = np.flatnonzero(states == target)
            if not len(known):
                states, cost = np.append(states, target), np.append(cost, at)
                move, stride = np.append(move, WRITTEN_LEAP), np.append(stride, 0)
            elif at < cost[known[0]]:
                cost[known[0]], move[known[0]] = at, WRITTEN_LEAP
            else:
                continue
            self.leaps_taken[target] = leap
            self._elsewhere[tables.written == target] = False
        return states, cost, move, stride

    def _learn(
        self,
        sources: NDArray[np.intp],
        states: NDArray[np.intp],
        per_quarter: NDArray[np.float64],
        skipped_keys: NDArray[np.float64],
        seconds: float,
    ) -> NDArray[np.float64]:
        """Paths that advanced from one state to another: tempo, and the onset they reached."""
        c = self.costs
        paths = self._paths[:, sources]
        count = paths[_ADVANCES] + 1.0
        observed = (seconds - paths[_REACHED]) * per_quarter
        change = np.log(np.maximum(observed, 1e-3) / paths[_TEMPO])
        reach = np.where(count < 1.5, 1.4, 0.5)
        learning = np.maximum(
            1.0 / (count + c.tempo_prior),
            np.where(change < 0, c.tempo_learning_faster, c.tempo_learning),
        )
        paths[_TEMPO] *= np.exp(learning * np.minimum(np.maximum(change, -reach), reach))
        np.minimum(np.maximum(paths[_TEMPO], 0.05), 8.0, out=paths[_TEMPO])
        paths[_OWED] = paths[_LEFT] + skipped_keys
        paths[_LEFT] = np.maximum(self.onsets.keys[states] - 1.0, 0.0)
        paths[_ADVANCES] = count
        paths[_REACHED] = seconds
        paths[_SPREAD] = c.timing_spread**2
        return paths

    def _begun(
        self,
        states: NDArray[np.intp],
        began: NDArray[np.float64],
        seconds: float,
        came_from: float,
    ) -> NDArray[np.float64]:
        """Paths that begin at some states."""
        paths = np.zeros((_COLUMNS, len(states)))
        paths[_REACHED] = seconds
        paths[_TEMPO] = self._usual_tempo
        paths[_SPREAD] = self.costs.first_timing_spread**2
        paths[_LEFT] = np.maximum(self.onsets.keys[states] - 1.0, 0.0)
        paths[_LANDED] = began
        paths[_CAME_FROM] = came_from
        return paths

    def _reachable(self, tables: PitchTables) -> NDArray[np.intp]:
        """States that are worth reaching with the next note by a path that goes on.

        A path that is nearly given up can only be saved by a right note, so it is only followed
        to where the key is written. ``_elsewhere`` remembers which of those places are left over.
        """
        marked, active = self._marked, self.active
        weak = self._paths[_COST, active] > self.costs.beam - self.costs.wrong
        faint = active[weak] + _REACH
        marked[faint] = True
        written = tables.written
        saved = marked[written]
        marked[faint] = False
        marked[written] = saved
        marked[active[~weak] + _REACH] = True
        marked[self._padding] = False
        self._elsewhere = ~marked[written]
        states = marked.nonzero()[0]
        marked[states] = False
        return states

    def _wait(self, since: float) -> tuple[float, float]:
        """What a wait costs whoever goes on, and what it says against a new start.

        A pause is a hesitation or the moment before starting anew; without one nobody jumps.
        """
        c = self.costs
        if since < c.chord_window_seconds:
            self._hesitation = 0.0  # still the chord that came after the pause
            return 0.0, self._readiness
        ratio = max(1.0, since / max(self._expected_wait(self.best), c.shortest_wait_seconds))
        hesitation = min(c.timing_most, (ratio + 1.0 / ratio - 2.0) / (2.0 * c.timing_spread**2))
        self._hesitation = hesitation
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
        self._prefer_known_landings(states, jump, float(o.state_quarters[source]))
        if self._left_by_slip:  # a reason to try again from close by, not to leap elsewhere
            jump[(behind < -1e-3) | (behind > c.landing_quarters)] -= c.retry_after_slip
        jump[o.state_chain[states] != o.state_chain[source]] += c.other_hands
        # Striking the same onset again has nothing to do with where barlines are.
        jump += np.where(np.abs(behind) < 1e-3, 0.0, self._downbeat[states])
        if float(o.state_quarters[source]) in self._ends:
            readiness = max(readiness - c.ended_here_before, c.jump_after_long_pause)
        jump += base + readiness
        return np.minimum(jump, self.lost_cost + c.found_again)

    def _prefer_known_landings(
        self, states: NDArray[np.intp], jump: NDArray[np.float64], here: float
    ) -> None:
        """Make it cheap to begin where the player began before, above all within a passage."""
        o, c = self.onsets, self.costs
        for place in set(self._landings):
            known = c.landing_once if self._landings.count(place) == 1 else c.landing_often
            away = max(1.0, abs(here - place) / c.passage_quarters)
            known += c.landing_farther * math.log2(away)
            for chain in range(len(o.chain_start)):
                if o.chain_end[chain] > o.chain_start[chain]:
                    state = o.state_of(chain, place)
                    at = int(states.searchsorted(state))
                    if at < len(states) and states[at] == state:
                        jump[at] = min(jump[at], known)

    def _jump_from(self) -> tuple[int, float]:
        """The path that jumps: the cheapest one, onsets left unfinished counted in part."""
        leaving = self._paths[_COST, self.active]
        leaving = leaving + self.costs.unfinished_note * self._paths[_LEFT, self.active]
        slips = _IS_SLIP[self.move]
        leaving[slips] += self.costs.retry_after_slip
        at = int(leaving.argmin())
        self._left_by_slip = bool(slips[at])
        self.jump_source = int(self.active[at])
        return self.jump_source, float(leaving[at])

    def _settle(self) -> None:
        """Believe the best path: learn its tempo and where it began."""
        path = self._paths[:, self.best]
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
            return float(self._paths[_TEMPO, state])
        gap = o.state_quarters[state + 1] - o.state_quarters[state]
        return float(gap * self._paths[_TEMPO, state])

    def _is_soft(self, velocity: int) -> bool:
        """Whether a note is much softer than those before it."""
        return velocity < self.costs.soft * self._velocity

    def _alternates(self, seconds: float, pitch: int) -> bool:
        """Whether this note goes back and forth quickly with a near key: a trill."""
        if len(self._recent) < 2:
            return False
        (t1, p1), (_, p2) = self._recent[-2], self._recent[-1]
        return p1 == pitch and 0 < abs(p2 - pitch) <= 2 and seconds - t1 < 0.4

    def _tables_of(self, pitch: int) -> PitchTables:
        tables = self._tables.get(pitch)
        if tables is None:
            tables = self._tables[pitch] = pitch_tables(self.onsets, self.costs, pitch)
        return tables
