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
  (``jumping``, ``starting_anew``). The cheapest way to each state is kept (``ways``).

One update is some sixty vector operations over all paths that are alive (at most
``Costs.most_paths``) and all places with that key, no loop over the score. While the player goes on
a handful of paths is alive, and new starts are not weighed: then plain numbers are several times as
fast (``few_paths``), and where a take is heard as a whole, a note that can mean but one thing takes
a shorter way still (``plain_notes``). New starts that could not come within the beam of the
cheapest way on are not looked at (``jumping``).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import NEVER, Costs
from companion.listening.decoding.few_paths import FEW, FewPaths, FewSteps
from companion.listening.decoding.habits import Habits
from companion.listening.decoding.jumping import Jumps
from companion.listening.decoding.leaping import WrittenLeaps
from companion.listening.decoding.moves import (
    ADDED,
    ADVANCE,
    JUMP,
    JUMP_WRONG,
    MAX_STRIDE,
    WRITTEN_LEAP,
    Taken,
    is_jump,
    is_wrong,
)
from companion.listening.decoding.paths import (
    ADVANCES,
    BEGAN,
    CAME_FROM,
    COST,
    LANDED,
    SETTLED_ONSETS,
    SLIPPED,
    TEMPO,
    Paths,
    begun,
    no_paths,
    one_certain_path,
)
from companion.listening.decoding.pitch_tables import PitchTables, pitch_tables
from companion.listening.decoding.plain_notes import plain_step
from companion.listening.decoding.recent_notes import PAUSE_SECONDS, RecentNotes, Wait
from companion.listening.decoding.score_onsets import PADDING
from companion.listening.decoding.starting_anew import weigh_wait
from companion.listening.decoding.staying import (
    costs_of_staying,
    note_what_sounded,
    weigh_beside,
)
from companion.listening.decoding.strides import Strides
from companion.listening.decoding.ways import NO_WAYS, CheapestWays

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.few_paths import Row
    from companion.listening.decoding.paths import Steps
    from companion.listening.decoding.score_onsets import ScoreOnsets
    from companion.listening.decoding.staying import Beside
    from companion.listening.decoding.ways import Ways

DOUBTFUL_COST = 1.0
"""A note that costs the best path more is a reason to look for new starts."""

_ONSETS_AHEAD = np.arange(1 + MAX_STRIDE)[:, np.newaxis]
_SLIPPED_BY = np.array([SLIPPED if is_wrong(move) else 0 for move in range(JUMP_WRONG + 1)])

LOWEST_KEY, HIGHEST_KEY = 21, 108
"""The 88 keys as MIDI note numbers."""


@dataclass(frozen=True, slots=True)
class Memory:
    """What a decoder knows at one moment; see :meth:`PlaceDecoder.remember`."""

    paths: Paths | FewPaths
    recent: RecentNotes
    habits: Habits
    wait: Wait
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
        Whether a passage may begin with a wrong key anywhere, not only where a start is expected.
        Only what follows can tell, so this is for takes that are heard as a whole; in return
        nobody jumps in the midst of a chord.

    Attributes
    ----------
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
        self._jumps = Jumps(onsets, self.costs)
        self._cheapest = CheapestWays(onsets.size)
        self._few_steps = FewSteps(onsets, self.costs, self._strides)
        # To the next onset of the chain; a quarter from the last one.
        self._gaps = np.ones(onsets.size)
        real = (~onsets.padding[1:]).nonzero()[0]
        self._gaps[real] = onsets.state_quarters[real + 1] - onsets.state_quarters[real]
        self._no_wait = Wait(0.0, 0.0, self.costs.jump_at_once, pause=False)
        self.forget()

    def prepare(self) -> None:
        """Work out the tables of all keys of the piano now, so that no note waits for them."""
        if self.onsets.size > PADDING:
            for pitch in range(LOWEST_KEY, HIGHEST_KEY + 1):
                self._tables_of(pitch)

    def forget(self) -> None:
        """Start anew: no note heard."""
        self._paths: Paths | FewPaths = no_paths()
        self._recent = RecentNotes()
        self._habits = Habits(self.costs.usual_seconds_per_quarter)
        self._wait = self._no_wait
        self.lost_cost = 0.0
        self.last_cost = 0.0

    # ------------------------------------------------------------------ what is known
    @property
    def active(self) -> NDArray[np.intp]:
        """States with a path worth keeping, in no order."""
        return self._paths.states

    @property
    def active_costs(self) -> NDArray[np.float64]:
        """Costs of the active states, 0 for the best."""
        return self._paths.costs

    @property
    def best(self) -> int:
        """The state of the likeliest path, -1 before there is one."""
        return self._paths.best_state

    @property
    def steps(self) -> Steps | FewPaths:
        """How each path took the last note."""
        return self._paths if isinstance(self._paths, FewPaths) else self._paths.steps()

    @property
    def best_path(self) -> int:
        """Which of the active states has the likeliest path, -1 before there is one."""
        return self._paths.best

    def passed(self, paths: NDArray[np.intp]) -> NDArray[np.intp]:
        """How many onsets the paths of some active states have passed, the first not counted."""
        return self._paths.passed(paths)

    def taken(self, path: int) -> Taken:
        """How the path of an active state took the last note."""
        move = self._paths.move_of(path)
        if is_jump(move):
            return Taken.JUMP
        if move == WRITTEN_LEAP:
            return Taken.WRITTEN_LEAP
        if move == ADDED:
            return Taken.ADDED
        return Taken.WRONG if is_wrong(move) else Taken.RIGHT

    def leap_quarters(self, path: int) -> float:
        """Written time from onset to onset over the leap that a path just took."""
        leaps = self.onsets.leaps
        leap = leaps.index_of(self._paths.previous_of(path), int(self.active[path]))
        return float(leaps.quarters[leap])

    def began(self, path: int) -> tuple[int, float]:
        """With which note of the take a path began, and where it came from (quarters)."""
        column = self._paths.column_of(path)
        return int(column[BEGAN]), column[CAME_FROM]

    def begin_at(self, state: int, seconds: float, seconds_per_quarter: float) -> None:
        """Start anew with the player known to be at an onset, all its keys heard."""
        self.forget()
        spread = self.costs.first_timing_spread**2
        self._paths = one_certain_path(self.onsets, state, seconds, seconds_per_quarter, spread)
        self._recent = RecentNotes(count=1, last_seconds=seconds)

    def remember(self) -> Memory:
        """Everything the decoder knows now, to come back to."""
        return Memory(self._paths, self._recent, self._habits, self._wait, self.lost_cost)

    def go_back_to(self, memory: Memory) -> None:
        """Forget all that was heard since :meth:`remember`."""
        self._paths, self._recent, self._habits = memory.paths, memory.recent, memory.habits
        self._wait, self.lost_cost = memory.wait, memory.lost_cost

    def pauses(self, seconds: float) -> bool:
        """Whether a note at this time would come after a pause."""
        since = seconds - self._recent.last_seconds
        if self._paths.best < 0 or since <= PAUSE_SECONDS:
            return False
        expected = self._expected_wait_seconds()
        return since > self.costs.pause_from * max(expected, self.costs.shortest_wait_seconds)

    def began_as_one(self, within: float = NEVER) -> bool:
        """Whether all paths within some cost began with the same note: nobody has started anew."""
        return self._paths.best >= 0 and self._paths.began_as_one(within)

    def is_settled(self) -> bool:
        """Whether no other place in the score competes with the best path."""
        return self._paths.is_settled()

    def _expected_wait_seconds(self) -> float:
        """Seconds from the onset of the best path to the next one, at its tempo."""
        return self._gaps.item(self.best) * self._paths.column_of(self._paths.best)[TEMPO]

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
            if self._paths.best < 0:
                self._begin(tables, seconds)
            else:
                self._go_on(tables, (seconds, pitch, velocity), may_jump=may_jump)
        self._recent = self._recent.with_one_more(seconds, pitch, velocity)

    def hear_plainly(self, seconds: float, pitch: int, velocity: int) -> bool:
        """Take a note that goes on in the only plain way; False when it does not, and nothing done.

        Plain is the next key of a chord, or the next onset after a complete one, in time, on every
        path that is near. A run-through is mostly plain, and this is quicker than :meth:`hear`.
        """
        if self._paths.best < 0 or self.lost_cost < self.costs.lost_entry - 1.0:
            return False
        tables = self._tables_of(pitch)
        paths = plain_step(self.onsets, self.costs, self._strides, self._paths, tables, seconds)
        if paths is None or self._some_may_leap(self._paths):
            return False
        self._paths = paths
        self.lost_cost = min(self.lost_cost + self.costs.lost_note, self.costs.lost_entry)
        self.last_cost = 0.0
        self._habits = self._habits.at_tempo(paths.column_of(paths.best)[TEMPO])
        self._wait = self._no_wait
        self._recent = self._recent.with_one_more(seconds, pitch, velocity)
        return True

    def _begin(self, tables: PitchTables, seconds: float) -> None:
        states = tables.written
        if not len(states):
            return
        self.lost_cost = self.costs.lost_note
        table = self._begun(states, seconds)
        table[CAME_FROM] = -1.0
        cost = self._jumps.landings.costs_of_beginning(states)
        table[COST] = cost - cost.min()
        count = len(states)
        self._paths = Paths(
            states,
            np.full(count, JUMP),
            np.full(count, -1),
            table,
            tables.bits[states],
            int(cost.argmin()),
        )

    def _go_on(self, tables: PitchTables, note: tuple[float, int, int], *, may_jump: bool) -> None:
        """Take the cheapest way to each state, and keep the paths that are worth it."""
        c, seconds = self.costs, note[0]
        since = seconds - self._recent.last_seconds
        self._wait = wait = weigh_wait(c, since, self._expected_wait_seconds(), self._wait)
        beside = weigh_beside(c, note, self._recent, wait)
        in_chord = self._starts_with_slips and since < c.chord_window_seconds
        may_jump = may_jump and not in_chord
        # Without a pause or any misfit nobody has jumped: not worth the work.
        lost_cost, doubtful = self.lost_cost, self.lost_cost < c.lost_entry - 1.0 or wait.pause
        self.lost_cost = min(lost_cost + c.lost_note, c.lost_entry) + wait.hesitation
        if not (may_jump and doubtful) and self._go_on_with_few(
            tables, seconds, beside, at_most=DOUBTFUL_COST if may_jump else NEVER
        ):
            return
        self._paths = paths = self._in_arrays()
        # One row for staying and one per stride, one column per path.
        cost = np.empty((1 + MAX_STRIDE, len(paths.states)))
        reached = paths.states + _ONSETS_AHEAD
        cost[0], stay_move = costs_of_staying(self.onsets, c, paths, tables, seconds, beside)
        self._strides.costs_of_advancing(paths, seconds, cost[1:])
        cost[1:] += tables.slip[reached[1:]]
        leaps = self._leaps.ways(paths, tables, seconds) if self._leaps.any else NO_WAYS
        lowest = min(float(cost.flat[cost.argmin()]), leaps.lowest)
        jumps = NO_WAYS
        if may_jump and (doubtful or lowest > DOUBTFUL_COST):
            restraint = self._habits.restraint(self._recent.count)
            jumps = self._jumps.ways(
                paths,
                tables,
                self._habits,
                readiness=wait.hesitation + wait.readiness + restraint,
                found_again=lost_cost + c.found_again,
                dearest=lowest + c.beam,
                with_any_slip=self._starts_with_slips and wait.pause,
            )
        self._keep(tables, seconds, reached, cost, stay_move, leaps, jumps)

    def _go_on_with_few(
        self, tables: PitchTables, seconds: float, beside: Beside, *, at_most: float
    ) -> bool:
        """The same in plain numbers, for a handful of paths of which none may leap or jump.

        False, and nothing done, where this does not hold, or the best path would cost more.
        """
        few = self._in_numbers()
        if few is None or self._some_may_leap(few):
            return False
        rows, lowest = self._few_steps.go_on(few, tables, seconds, beside)
        if lowest > at_most:
            return False
        if len(rows) > self.costs.most_paths:
            rows = sorted(rows, key=lambda row: row[4][COST])[: self.costs.most_paths]
        self._settle(FewPaths(rows, self._best_of_few(rows)), lowest)
        return True

    def _some_may_leap(self, paths: Paths | FewPaths) -> bool:
        """Whether the score leads elsewhere from where one of the paths is."""
        return self._leaps.any and any(map(self._leaps.lead_on_from, paths.states.tolist()))

    def _in_numbers(self) -> FewPaths | None:
        """The paths in plain numbers while they are few, otherwise None."""
        if isinstance(self._paths, FewPaths):
            return self._paths if len(self._paths.rows) <= FEW else None
        return FewPaths.of(self._paths) if len(self._paths.states) <= FEW else None

    def _in_arrays(self) -> Paths:
        """The paths in arrays."""
        return self._paths.arrays() if isinstance(self._paths, FewPaths) else self._paths

    def _settle(self, paths: Paths | FewPaths, lowest: float) -> None:
        """Go on with these paths, of which the best has cost so much more."""
        self._paths = paths
        self.last_cost = lowest
        self.lost_cost -= lowest
        column = paths.column_of(paths.best)
        if column[ADVANCES] >= SETTLED_ONSETS:
            self._believe(column)

    def _keep(
        self,
        tables: PitchTables,
        seconds: float,
        reached: NDArray[np.intp],
        cost: NDArray[np.float64],
        stay_move: NDArray[np.int64],
        leaps: Ways,
        jumps: Ways,
    ) -> None:
        """Make the best path cost 0, and let all learn what the note tells them.

        Parameters
        ----------
        reached, cost
            Where the paths that stay (first row) and advance come to, and what it costs.
        stay_move
            How the paths that stay take the note.
        leaps, jumps
            Other ways.
        """
        c, before = self.costs, self._in_arrays()
        count, on = cost.shape[1], cost.size
        to, costs = reached.ravel(), cost.ravel()
        if len(leaps.cost) or len(jumps.cost):
            to = np.concatenate((to, leaps.states, jumps.states))
            costs = np.concatenate((costs, leaps.cost, jumps.cost))
        chosen, lowest = self._cheapest.choose(to, costs, c.beam, c.most_paths)
        # They are in order: first those that stay, then those that advance, leap, and jump.
        ends = chosen.searchsorted((count, on, on + len(leaps.cost))).tolist()
        stays, advances, leapt, jumped = map(slice, (0, *ends), (*ends, len(chosen)))
        states = to[chosen]
        stride, path = np.divmod(chosen[: ends[1]], count)
        heard = tables.bits[states]
        move = np.empty(len(states), np.int64)
        move[stays] = stay_move[path[stays]]
        move[advances] = stride[advances] + (ADVANCE - 1)
        move[advances] += (heard[advances] == 0) * MAX_STRIDE
        if len(chosen) > ends[1]:
            leap, jump = chosen[leapt] - on, chosen[jumped] - (on + len(leaps.cost))
            path = np.concatenate((path, leaps.path[leap], jumps.path[jump]))
            move[leapt], move[jumped] = WRITTEN_LEAP, jumps.move[jump]
        left = before.states[path]
        table = before.table.take(path, axis=1)
        heard[stays] |= before.heard[path[stays]]
        note_what_sounded(table[:, stays], move[stays] == ADDED, tables.late[states[stays]])
        self._strides.learn(table[:, advances], left[advances], stride[advances] - 1, seconds)
        if ends[2] > ends[1]:
            self._leaps.learn(table[:, leapt], left[leapt], states[leapt], seconds)
        if len(chosen) > ends[2]:
            table[:, jumped] = self._begun(states[jumped], seconds)
            table[CAME_FROM, jumped] = self.onsets.state_quarters[left[jumped]]
        heard |= _SLIPPED_BY[move]
        table[COST] = cost = costs[chosen] - lowest
        best = self._best_of(states, cost)
        self._settle(Paths(states, move, left, table, heard, best), lowest)

    def _best_of(self, states: NDArray[np.intp], cost: NDArray[np.float64]) -> int:
        """The cheapest path; of several, the one nearest to what was thought before.

        Where the same music stands twice, the two differ by rounding only, and nobody should see
        the place leap to and fro between them.
        """
        equal = (cost < self.costs.equal).nonzero()[0]
        if len(equal) == 1:
            return int(equal[0])
        quarters = self.onsets.state_quarters
        away = np.abs(quarters[states[equal]] - quarters[self.best])
        return int(equal[np.lexsort((states[equal], away))[0]])

    def _best_of_few(self, rows: list[Row]) -> int:
        """As :meth:`_best_of`."""
        equal = [at for at, row in enumerate(rows) if row[4][COST] < self.costs.equal]
        if len(equal) == 1:
            return equal[0]
        quarters = self.onsets.state_quarters
        here = quarters.item(self.best)
        return min(equal, key=lambda at: (abs(quarters.item(rows[at][0]) - here), rows[at][0]))

    def _begun(self, states: NDArray[np.intp], seconds: float) -> NDArray[np.float64]:
        tempo, spread = self._habits.seconds_per_quarter, self.costs.first_timing_spread**2
        return begun(self.onsets, states, seconds, tempo, spread, self._recent.count)

    def _believe(self, column: list[float]) -> None:
        """Learn the tempo of a path and where it began."""
        self._habits = habits = self._habits.at_tempo(column[TEMPO])
        began, landing = int(column[BEGAN]), column[LANDED]
        if (habits.began_notes[-1:], habits.landings[-1:]) != ((began,), (landing,)):
            self._habits = habits.with_passage(began, landing, column[CAME_FROM])

    def _tables_of(self, pitch: int) -> PitchTables:
        tables = self._tables.get(pitch)
        if tables is None:
            tables = self._tables[pitch] = pitch_tables(self.onsets, self.costs, pitch)
        return tables
