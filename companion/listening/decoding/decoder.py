"""Where in the score each played note belongs: a decoder over onsets that knows how pianists err.

The method is a hidden Markov model over the onsets of the score, run note by note in costs
(negative logarithms of probabilities, natural base; lower is likelier). It follows the family of
models of Nakamura, Nakamura & Sagayama (J. New Music Res. 44, 2015; IEEE/ACM TASLP 24, 2016:
score following with arbitrary repeats and skips) and Gingras & McAdams (J. New Music Res. 40,
2011: matching with ornaments and errors) [both cited from memory], with additions of our own:

- Three chains of onsets (both hands, right alone, left alone) compete all the time.
- Each state carries what its best path has learnt: the tempo, when the onset was reached, which of
  its keys have sounded (``paths``). So chords may come in any order, a key heard twice is not a
  chord note, and an advance is judged by the tempo of *that* hypothesis.
- A note either completes the present onset, is added beside it (brushed key, ornament, key struck
  again) or stands wrongly for a note of it (``staying``), or reaches one of the next ``MAX_STRIDE``
  onsets (``strides``), or the one to which the score leads (``leaping``).
- Or the player has jumped: a new path starts at any onset with that key, from the best path so
  far. Going back a little, and doing so after a pause, is likelier than anything else
  (``starting_anew``).

One update is a few dozen vector operations over all states worth a look (``reaching``), no loop
over the score.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import NEVER, Costs
from companion.listening.decoding.habits import Habits
from companion.listening.decoding.leaping import WrittenLeaps
from companion.listening.decoding.moves import (
    ADDED,
    ADVANCE,
    JUMP,
    JUMP_WRONG,
    WRITTEN_LEAP,
    Taken,
    is_jump,
    is_wrong,
)
from companion.listening.decoding.paths import (
    ADVANCES,
    CAME_FROM,
    COST,
    LANDED,
    REACHED,
    SETTLED_ONSETS,
    SLIPPED,
    TEMPO,
    KeptPaths,
    Paths,
)
from companion.listening.decoding.pitch_tables import PitchTables, pitch_tables
from companion.listening.decoding.plain_notes import plain_step, take_plain_step
from companion.listening.decoding.reaching import Candidates, Reach
from companion.listening.decoding.recent_notes import PAUSE_SECONDS, RecentNotes, Wait
from companion.listening.decoding.score_onsets import PADDING
from companion.listening.decoding.starting_anew import Landings, departure, weigh_wait
from companion.listening.decoding.staying import costs_of_staying, note_what_sounded
from companion.listening.decoding.strides import Strides

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.score_onsets import ScoreOnsets

_IS_JUMP = np.array([is_jump(move) for move in range(JUMP_WRONG + 1)])
_IS_SLIP = np.array([is_wrong(move) for move in range(JUMP_WRONG + 1)])

LOWEST_KEY, HIGHEST_KEY = 21, 108
"""The 88 keys as MIDI note numbers."""


@dataclass(frozen=True, slots=True)
class Memory:
    """What a decoder knows at one moment; see :meth:`PlaceDecoder.remember`."""

    paths: KeptPaths
    recent: RecentNotes
    habits: Habits
    readiness: float
    jump_source: int
    lost_cost: float


class PlaceDecoder:
    """The competing paths through the score after the notes heard so far.

    Parameters
    ----------
    onsets
        The laid out score.
    costs
        The model.
    starts_with_slips
        Whether a passage may begin with a wrong key. Only what follows can tell, so this is for
        takes that are heard as a whole; in return nobody jumps in the midst of a chord.

    Attributes
    ----------
    jump_source
        The state from which the paths that jumped with the last note came; -1 at the start.
    leaps_taken
        The written leap by which the last note was reached, per state reached so.
    last_cost
        What the last note added to the cost of the best path.
    lost_cost
        Cost of "the last notes are nothing that is written", the best path being 0.
    """

    def __init__(
        self,
        onsets: ScoreOnsets,
        costs: Costs | None = None,
        *,
        starts_with_slips: bool = False,
    ) -> None:
        self.onsets = onsets
        self._starts_with_slips = starts_with_slips
        self.costs = costs or Costs()
        self._tables: dict[int, PitchTables] = {}
        self._strides = Strides(onsets, self.costs)
        self._leaps = WrittenLeaps(onsets, self.costs)
        self._landings = Landings(onsets, self.costs)
        self._reach = Reach(onsets, self.costs)
        self._landing = np.full(onsets.size, NEVER)
        self.forget()

    def prepare(self) -> None:
        """Work out the tables of all keys of the piano now, so that no note waits for them."""
        if self.onsets.size > PADDING:
            for pitch in range(LOWEST_KEY, HIGHEST_KEY + 1):
                self._tables_of(pitch)

    def forget(self) -> None:
        """Start anew: no note heard."""
        tempo = self.costs.usual_seconds_per_quarter
        self._paths = Paths(self.onsets, tempo)
        self._recent = RecentNotes()
        self._habits = Habits(tempo)
        self._readiness = self.costs.jump_at_once
        self.jump_source = -1
        self.leaps_taken: dict[int, int] = {}
        self.lost_cost = 0.0
        self.last_cost = 0.0

    # ------------------------------------------------------------------ what is known
    @property
    def active(self) -> NDArray[np.intp]:
        """States with a path worth keeping, in no order."""
        return self._paths.active

    @property
    def move(self) -> NDArray[np.int64]:
        """How each active state's path took the last note (the codes of ``moves``)."""
        return self._paths.move

    @property
    def best(self) -> int:
        """The state of the likeliest path, -1 before there is one."""
        return self._paths.best

    @property
    def active_costs(self) -> NDArray[np.float64]:
        """Costs of the active states."""
        return self._paths.costs

    def cost_of(self, state: int) -> float:
        """Cost of the path that ends at a state, 0 for the best, ``NEVER`` where there is none."""
        return float(self._paths.table[COST, state])

    def tempo_of(self, state: int) -> tuple[float, int]:
        """Seconds per quarter of a state's path, and after how many onsets."""
        table = self._paths.table
        return float(table[TEMPO, state]), int(table[ADVANCES, state])

    def taken(self) -> Taken:
        """How the best path took the last note; only after a note that has a place."""
        move = int(self.move[np.flatnonzero(self.active == self.best)[0]])
        if is_jump(move):
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
        spread = self.costs.first_timing_spread**2
        self._paths.begin_at(state, seconds, seconds_per_quarter, spread)
        self._recent = RecentNotes(count=1, last_seconds=seconds)

    def remember(self) -> Memory:
        """Everything the decoder knows now, to come back to."""
        return Memory(
            self._paths.keep(),
            self._recent,
            self._habits,
            self._readiness,
            self.jump_source,
            self.lost_cost,
        )

    def go_back_to(self, memory: Memory) -> None:
        """Forget all that was heard since :meth:`remember`."""
        self._paths.go_back_to(memory.paths)
        self._recent, self._habits = memory.recent, memory.habits
        self._readiness, self.jump_source = memory.readiness, memory.jump_source
        self.lost_cost = memory.lost_cost

    def pauses(self, seconds: float) -> bool:
        """Whether a note at this time would come after a pause."""
        since = seconds - self._recent.last_seconds
        expected = max(self._paths.expected_wait_seconds(), self.costs.shortest_wait_seconds)
        return since > PAUSE_SECONDS and since > self.costs.pause_from * expected

    def is_settled(self) -> bool:
        """Whether no other place in the score competes with the best path."""
        return self._paths.is_settled()

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
        if self.onsets.size > PADDING:
            tables = self._tables_of(pitch)
            if self.best < 0:
                self._begin(tables, seconds)
            else:
                self._go_on(tables, (seconds, pitch, velocity), may_jump=may_jump)
        self._recent = self._recent.with_one_more(seconds, pitch, velocity)

    def hear_plainly(self, seconds: float, pitch: int, velocity: int) -> bool:
        """Take a note that goes on in the only plain way; False when it does not, and nothing done.

        Plain is the next key of a chord, or the next onset after a complete one, in time, while no
        other path is near. A run-through is mostly plain, and this costs a tenth of :meth:`hear`.
        """
        if self._leaps.lead_on_from(self.best):
            return False
        tables = self._tables_of(pitch)
        step = plain_step(self.onsets, self.costs, self._strides, self._paths, tables, seconds)
        if step is None:
            return False
        take_plain_step(self._paths, step)
        self.leaps_taken = {}
        self.lost_cost = min(self.lost_cost + self.costs.lost_note, self.costs.lost_entry)
        self.last_cost = 0.0
        self._habits = self._habits.at_tempo(step.row[TEMPO])
        self._readiness = self.costs.jump_at_once
        self._recent = self._recent.with_one_more(seconds, pitch, velocity)
        return True

    def _begin(self, tables: PitchTables, seconds: float) -> None:
        states = tables.written
        if not len(states):
            return
        self.jump_source = -1
        self.lost_cost = self.costs.lost_note
        self._paths.replace(
            states,
            np.full(len(states), JUMP),
            self._begun(states, seconds, -1.0),
            tables.bits[states],
            int(states[0]),
        )

    def _go_on(self, tables: PitchTables, note: tuple[float, int, int], *, may_jump: bool) -> None:
        """Take the cheapest way to each state, and keep the paths that are worth it."""
        c, seconds = self.costs, note[0]
        wait = weigh_wait(
            c,
            seconds - self._recent.last_seconds,
            self._paths.expected_wait_seconds(),
            self._readiness,
        )
        self._readiness = wait.readiness
        found = self._ways_on(tables, note, wait)
        self.leaps_taken = {}
        if self._leaps.any:
            self.leaps_taken = self._leaps.weigh(self._paths, tables, seconds, found)
        # Without a pause or any misfit nobody has jumped: not worth the work.
        doubtful = self.lost_cost < c.lost_entry - 1.0 or float(found.cost.min(initial=NEVER)) > 1.0
        in_chord = wait.seconds < c.chord_window_seconds
        may_jump = may_jump and not (self._starts_with_slips and in_chord)
        if may_jump and (doubtful or wait.readiness < c.jump_at_once):
            self._weigh_jumps(tables, wait, found)
        self.lost_cost = min(self.lost_cost + c.lost_note, c.lost_entry) + wait.hesitation
        self._keep(found, seconds, tables)

    def _ways_on(self, tables: PitchTables, note: tuple[float, int, int], wait: Wait) -> Candidates:
        """The cheapest ways to stay or to advance."""
        states = self._reach.states(self._paths, tables.written)
        stay, stay_move = costs_of_staying(
            self.onsets, self.costs, self._paths, tables, states, note, self._recent, wait
        )
        advance, stride = self._strides.costs_of_advancing(self._paths, states, note[0])
        advance += tables.slip[states]
        move = np.where(advance < stay, stride + tables.advance_move[states], stay_move)
        return Candidates(states, np.minimum(stay, advance), move, stride)

    def _weigh_jumps(self, tables: PitchTables, wait: Wait, found: Candidates) -> None:
        """Let new paths begin wherever the key is written and that is cheapest."""
        c, written = self.costs, tables.written
        start = departure(c, self._paths)
        self.jump_source = start.state
        readiness = wait.hesitation + wait.readiness
        jump = self._landings.costs_of(written, start, readiness, self._habits)
        np.minimum(jump, self.lost_cost + c.found_again, out=jump)
        self._offer(written, jump, JUMP, found)
        if self._starts_with_slips and wait.readiness < c.jump_at_once:
            jump = self._landings.costs_of(tables.close, start, readiness, self._habits)
            self._offer(tables.close, jump + tables.slip[tables.close], JUMP_WRONG, found)

    def _offer(
        self, states: NDArray[np.intp], cost: NDArray[np.float64], move: int, found: Candidates
    ) -> None:
        """Take this move to each of some states where it is the cheapest way."""
        landing = self._landing
        landing[states] = cost
        here = landing[found.states]
        cheaper = here < found.cost
        found.cost[cheaper] = here[cheaper]
        found.move[cheaper] = move
        landing[found.states] = NEVER
        dearest = self.costs.beam + float(found.cost.min(initial=self.costs.beam))
        worth = landing[states] < dearest
        landing[states] = NEVER
        if worth.any():
            found.add(states[worth], cost[worth], move)

    def _keep(self, found: Candidates, seconds: float, tables: PitchTables) -> None:
        """Make the best path cost 0, drop hopeless ones, and let the others learn."""
        lowest = float(found.cost.min())
        kept = (found.cost < lowest + self.costs.beam).nonzero()[0]
        states, move, stride = found.states[kept], found.move[kept], found.stride[kept]
        cost = found.cost[kept] - lowest
        paths = self._paths
        rows, heard = paths.table[:, states], tables.bits[states]
        stays = (move < ADVANCE).nonzero()[0]
        advances = ((move >= ADVANCE) & (move < JUMP)).nonzero()[0]
        jumps = _IS_JUMP[move].nonzero()[0]
        if len(stays):
            note_what_sounded(paths, tables, states, move, stays, rows, heard)
        if len(advances):
            rows[:, advances] = self._strides.learn(
                paths, states[advances], stride[advances], seconds
            )
        if self.leaps_taken and len(leapt := (move == WRITTEN_LEAP).nonzero()[0]):
            taken = [self.leaps_taken[state] for state in states[leapt].tolist()]
            rows[:, leapt] = self._leaps.learn(paths, taken, seconds)
        if len(jumps):
            came_from = float(self.onsets.state_quarters[self.jump_source])
            rows[:, jumps] = self._begun(states[jumps], seconds, came_from)
        heard[_IS_SLIP[move]] |= SLIPPED
        rows[COST] = cost
        paths.replace(states, move, rows, heard, int(states[cost.argmin()]))
        self.last_cost = lowest
        self.lost_cost -= lowest
        if paths.table[ADVANCES, paths.best] >= SETTLED_ONSETS:
            self._believe_best()

    def _begun(
        self, states: NDArray[np.intp], seconds: float, came_from: float
    ) -> NDArray[np.float64]:
        tempo, spread = self._habits.seconds_per_quarter, self.costs.first_timing_spread**2
        return self._paths.begun(states, seconds, tempo, spread, came_from)

    def _believe_best(self) -> None:
        """Learn the tempo of the best path and where it began."""
        row = self._paths.table[:, self.best]
        self._habits = habits = self._habits.at_tempo(float(row[TEMPO]))
        landed, reached = float(row[LANDED]), float(row[REACHED])
        just = row[ADVANCES] == SETTLED_ONSETS and reached != habits.believed_seconds
        if just or not habits.landings or habits.landings[-1] != landed:
            self._habits = habits.with_passage(landed, float(row[CAME_FROM]), reached)

    def _tables_of(self, pitch: int) -> PitchTables:
        tables = self._tables.get(pitch)
        if tables is None:
            tables = self._tables[pitch] = pitch_tables(self.onsets, self.costs, pitch)
        return tables
