"""The best explanation of the playing so far at every written place, carried on with each note.

A note belongs to the same chord as the one before, to one of the next written onsets, or begins
anew. Each explanation keeps one number, how much likelier it makes the playing than no piece at
all, in natural logarithms: its *level*. Keys that are missing or do not fit cost. That is a local
alignment of two sequences (Smith & Waterman 1981, from memory), where the notes of a chord may come
in any order.

Conventions
-----------
- States and entries are those of :mod:`companion.listening.recognition.piece_index`.
- Levels are counted as if each heard note had earned ``ADDED_COST`` for whoever explains it: so a
  note that an explanation does not account for costs it without being touched.
- What happened at a state since it was entered, its *visit*, is one number: the number of the note
  that entered it, whether the tempo is known, and how many of its keys were struck.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.recognition.heard_times import IN_TIME_GAIN, costs_by_gap, weigh_steps
from companion.listening.recognition.piece_index import (
    LONGEST_STRIDE,
    MISSED_COST,
    MOST_MISSED_COST,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.recognition.heard_times import HeardTimes
    from companion.listening.recognition.piece_index import ShelfArrays

ADDED_COST = 2.2
"""A heard note that is not written (about 11 in 100: a first reading)."""

RESTART_COST = 3.0
"""To begin again somewhere in the same piece, besides the log of the number of places."""

FEWEST_PLACES = 200_000
"""A small shelf is treated like one of about 100 pieces: with few pieces on the shelf it is no
likelier that one of them is meant."""

LEAVING_COST = 12.0
"""To leave a piece for anything else."""

ENTERING_COST = 4.0
"""To begin a piece of the shelf in the middle of something else, besides the log of the number of
places on the shelf."""

ENTERING_FIRST_COST = 0.0
FIRST_NOTES = 3
"""The same with one of the first notes after a silence, where pieces do begin."""

LEAST_SURPRISE = -0.1
"""A key that everybody foresees says next to nothing against the place where it is written."""

_NEVER = np.float32(-1e30)
_NOTE = 8  # a visit: note of entering << _NOTE | tempo known | keys struck
_TEMPO_KNOWN = 1 << 7
_STRUCK = _TEMPO_KNOWN - 1
_IN_VISIT = (1 << _NOTE) - 1


class Explanations:
    """What explains the playing, by the places of a shelf that has a piece at least.

    ``levels`` holds the best level of each piece so far, ``evidence`` how much likelier (natural
    logarithm) the best of them is than no piece at all.
    """

    def __init__(self, arrays: ShelfArrays) -> None:
        self._arrays = arrays
        lengths = np.diff(arrays.first_state)
        self._restart = (RESTART_COST + np.log(np.maximum(lengths, 1))).astype(np.float32)
        self._log_places = math.log(max(arrays.states, FEWEST_PLACES))
        self.forget()

    def forget(self) -> None:
        """Nothing was heard yet."""
        arrays = self._arrays
        padded = np.full(arrays.states + LONGEST_STRIDE, _NEVER)
        # Per state: the level of having left it, what was missed in it paid.
        self._left = padded[LONGEST_STRIDE:]
        self._left_before = tuple(
            padded[LONGEST_STRIDE - k : LONGEST_STRIDE - k + arrays.states]
            for k in range(1, LONGEST_STRIDE + 1)
        )
        self._visit = np.zeros(arrays.states, np.int32)
        self._tempo = np.zeros(arrays.states, np.float32)
        self._last_strike = np.zeros(len(arrays.state), np.int32)
        self.levels = np.full(len(arrays.keys_of), _NEVER)
        self.evidence = float(_NEVER)
        self._nothing = 0.0
        self._best_state = 0

    def state_in(self, piece: int) -> int:
        """The likeliest state in a piece: roughly where the player is."""
        if piece == int(self.levels.argmax()):
            return self._best_state
        first, end = self._arrays.first_state[piece : piece + 2].tolist()
        return int(first + self._left[first:end].argmax())

    def hear(self, entries: NDArray[np.int64], surprise: float, times: HeardTimes) -> None:
        """Take one more note.

        Parameters
        ----------
        entries
            Where its key may have been struck.
        surprise
            How little the key was to be foreseen without any piece (natural logarithm).
        times
            When this note and the ones before were heard.
        """
        if len(entries):
            self._carry_on(entries, surprise, times)
        best = float(self.levels.max()) - ADDED_COST * times.count
        self._nothing = max(self._nothing, best - LEAVING_COST)
        self.evidence = best - self._nothing

    def _carry_on(self, entries: NDArray[np.int64], surprise: float, times: HeardTimes) -> None:
        """Carry the explanations on at some of the places where a key is written."""
        arrays = self._arrays
        state, keys, counts = arrays.state[entries], arrays.keys_at[entries], arrays.counts[entries]
        piece = arrays.piece[entries]
        bounds = _bounds(piece)
        pieces = piece[bounds[:-1]]
        stay_cost, go_cost = costs_by_gap(times.gap_seconds)

        # Another key of the same chord: what was missed in it is not missed yet.
        visit = self._visit[state]
        stay = self._left[state]
        stay += _missing(keys - (visit & _STRUCK))
        stay -= np.float32(stay_cost)
        stay[self._last_strike[entries] >= visit - (visit & _IN_VISIT)] = _NEVER  # struck already

        # A beginning, or one of the next onsets where that is better.
        enter = np.repeat(self._beginning(pieces, times), bounds[1:] - bounds[:-1])
        entered = np.full(len(entries), times.count << _NOTE, np.int32)
        going = self._worth_going(entries, state, go_cost, np.maximum(enter, stay))
        tempo_at, tempo = going[:0], self._tempo[:0]
        if len(going):
            go, tempo = self._going_on(entries[going], times)
            go -= np.float32(go_cost)
            better = go > enter[going]
            tempo_at, tempo = going[better], tempo[better]
            enter[tempo_at] = go[better]
            entered[tempo_at] += _TEMPO_KNOWN

        entering = enter > stay
        level = np.maximum(enter, stay)
        level += np.maximum(surprise - arrays.order_cost[entries], LEAST_SURPRISE) + ADDED_COST
        visit = np.where(entering, entered, visit)
        visit += counts
        self._visit[state] = visit
        self._left[state] = level - _missing(keys - (visit & _STRUCK))
        self._last_strike[entries] = counts * (times.count << _NOTE)
        kept = entering[tempo_at]
        self._tempo[state[tempo_at[kept]]] = tempo[kept]
        self._note_best(pieces, bounds, state, level)

    def _beginning(self, pieces: NDArray[np.int32], times: HeardTimes) -> NDArray[np.float32]:
        """Levels, by piece, of beginning there, or anew after a jump within the piece."""
        first = ENTERING_FIRST_COST if times.count <= FIRST_NOTES else ENTERING_COST
        begin = ADDED_COST * (times.count - 1) + self._nothing - self._log_places - first
        level = self.levels[pieces] - self._restart[pieces]
        return np.asarray(np.maximum(level, np.float32(begin)))

    def _worth_going(
        self,
        entries: NDArray[np.int64],
        state: NDArray[np.int64],
        go_cost: float,
        least: NDArray[np.float32],
    ) -> NDArray[np.int64]:
        """Which entries would be better reached from an onset before, at best in time there."""
        arrays = self._arrays
        one, two, three = self._left_before
        go = one[state]
        np.maximum(go, two[state] - arrays.skip_one[entries], out=go)
        np.maximum(go, three[state] - arrays.skip_two[entries], out=go)
        return np.flatnonzero(go - np.float32(go_cost - IN_TIME_GAIN) > least)

    def _going_on(
        self, entries: NDArray[np.int64], times: HeardTimes
    ) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Levels of going on to some entries from an onset before, and the tempo after it."""
        arrays = self._arrays
        state = arrays.state[entries]
        quarters = arrays.quarters[state]
        best = np.full(len(state), _NEVER)
        best_tempo = np.zeros(len(state), np.float32)
        skips = (None, arrays.skip_one, arrays.skip_two)
        for stride, skip in enumerate(skips, 1):
            before = np.maximum(state - stride, 0)
            visit = self._visit[before]
            earned, tempo = weigh_steps(
                times.seconds_since(visit >> _NOTE),
                quarters - arrays.quarters[before],
                self._tempo[before],
                (visit & _TEMPO_KNOWN) > 0,
                times.in_time_gain,
            )
            level = self._left_before[stride - 1][state]
            if skip is not None:
                level -= skip[entries]
            level += earned
            better = level > best
            best[better] = level[better]
            best_tempo[better] = tempo[better]
        return best, best_tempo

    def _note_best(
        self,
        pieces: NDArray[np.int32],
        bounds: NDArray[np.int64],
        state: NDArray[np.int64],
        level: NDArray[np.float32],
    ) -> None:
        """Keep the best level of each piece, and where the best of all was reached."""
        highest = np.maximum.reduceat(level, bounds[:-1])
        top = int(highest.argmax())
        if highest[top] > self.levels.max():
            start, end = bounds[top : top + 2].tolist()
            self._best_state = int(state[start + int(level[start:end].argmax())])
        self.levels[pieces] = np.maximum(self.levels[pieces], highest)


def _bounds(piece: NDArray[np.int32]) -> NDArray[np.int64]:
    """Where the entries of each piece begin, and at the end where the last ones end."""
    changes = np.flatnonzero(piece[1:] != piece[:-1]) + 1
    return np.concatenate(((0,), changes, (len(piece),)))


def _missing(keys: NDArray[np.float32]) -> NDArray[np.float32]:
    """The cost of leaving an onset while this many of its keys were not struck."""
    cost = np.maximum(keys, 0).astype(np.float32)
    cost *= np.float32(MISSED_COST)
    return np.minimum(cost, np.float32(MOST_MISSED_COST), out=cost)
