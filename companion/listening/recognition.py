"""Which piece is being played, and roughly where: from the heard notes alone.

Every written key press of every piece on the shelf is kept by its pitch
(:mod:`companion.listening.piece_index`). A heard note looks up all places where its key is
written, and at each of them the best explanation of the playing so far is carried on: the note
belongs to the same chord as the one before, to one of the next written onsets, or begins anew. Each
explanation keeps one number, how much likelier it makes the playing than no piece at all
(:mod:`companion.listening.any_music`), in natural logarithms. Keys that are missing or do not fit
cost; nothing else is searched, so a note takes a fraction of a millisecond.

That is a local alignment of two sequences (Smith & Waterman 1981, from memory) laid over an
inverted index, where the notes of a chord may come in any order. Recognising symbolic music by an
index that does not mind the tempo follows Arzt, Boeck & Widmer 2012 (ISMIR, "Fast identification of
piece and score position via symbolic fingerprinting", from memory); they look up triples of notes
and vote, here single notes are looked up and the order is checked while listening.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.any_music import AnyMusic
from companion.listening.notes import Hands, HeardNote
from companion.listening.piece_index import (
    LONGEST_STRIDE,
    READINGS,
    PieceIndex,
    ShelfIndex,
    build_index,
    index_piece,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

__all__ = [
    "PieceGuess",
    "PieceIndex",
    "PlayedStretch",
    "Recogniser",
    "ShelfIndex",
    "build_index",
    "index_piece",
    "recognise_take",
    "stretches_of_take",
]

LEAST_CONFIDENCE = 0.8
"""Below this a guess is kept back."""

TEMPERING = 0.6
"""Differences of evidence are taken this much less seriously than they look: neighbouring notes do
not speak independently."""

ADDED_COST = 2.5
"""A heard note that is not written (about 8 in 100 in practice)."""

MISSED_COST = 2.0
"""A written key that was not struck before the player went on."""

MOST_MISSED_COST = 4.5
"""At most this for one onset: a hand may drop out."""

RESTART_COST = 3.0
"""To begin again somewhere in the same piece, besides the log of the number of places."""

LEAVING_COST = 6.0
"""To leave a piece for anything else."""

ENTERING_COST = 1.0
"""To begin a piece of the shelf, besides the log of the number of places on the shelf."""

TOGETHER_SECONDS = 0.03
APART_SECONDS = 0.15
"""Keys struck nearer than the first are a chord, keys further apart than the second are not, most
of the time: 95 in 100 chords of professionals lie within 69 ms (Vienna 4x22)."""

WRONG_TIME_COST = 2.0

_NEVER = np.float32(-1e30)


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceGuess:
    """Which piece is being played.

    Parameters
    ----------
    piece_key
        The key it has in the index.
    onset_quarters
        Written onset of the last note that fitted, as printed: roughly where.
    confidence
        0 to 1: this piece against all others and against none.
    notes_heard
        How many notes were heard since the last :meth:`Recogniser.forget`.
    hands
        The hands that seem to be playing.
    """

    piece_key: str
    onset_quarters: float
    confidence: float
    notes_heard: int
    hands: Hands = Hands.BOTH


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedStretch:
    """A stretch of a take and what was played there, ``piece_key`` None for nothing known.

    ``first_played`` and ``last_played`` are indices of the heard notes, sorted by onset.
    """

    piece_key: str | None
    first_played: int
    last_played: int
    confidence: float

    @property
    def note_count(self) -> int:
        """Number of heard notes."""
        return self.last_played - self.first_played + 1


class Recogniser:
    """Listens, and knows which piece of a shelf is played as soon as the notes tell.

    Parameters
    ----------
    index
        The shelf.
    """

    def __init__(self, index: ShelfIndex) -> None:
        self._arrays = index.arrays
        self._any_music = AnyMusic()
        lengths = np.diff(self._arrays.first_state)
        self._restart = (RESTART_COST + np.log(np.maximum(lengths, 1))).astype(np.float32)
        self._enter = ENTERING_COST + math.log(max(self._arrays.states, 1))
        self.forget()

    def forget(self) -> None:
        """Begin a new take: nothing is known."""
        arrays = self._arrays
        self._any_music.forget()
        self._heard = 0
        self._last_seconds = -math.inf
        # All of these are counted as if each heard note had earned ADDED_COST for whoever explains
        # it: so a note that an explanation does not account for costs it without being touched.
        self._level = np.full(arrays.states, _NEVER)
        padded = np.full(arrays.states + LONGEST_STRIDE, _NEVER)
        self._left = padded[LONGEST_STRIDE:]
        self._left_before = [
            padded[LONGEST_STRIDE - k : LONGEST_STRIDE - k + arrays.states]
            for k in range(1, LONGEST_STRIDE + 1)
        ]
        self._struck = np.zeros(arrays.states, np.float32)
        self._entered = np.zeros(arrays.states, np.int32)
        self._last_strike = np.full(len(arrays.state), -1, np.int32)
        self._best = np.full(len(arrays.keys_of), _NEVER)
        self._nothing = 0.0

    def hear(self, note: HeardNote) -> PieceGuess | None:
        """Take one more note, in order of time.

        Returns
        -------
        PieceGuess or None
            None while the notes do not tell.
        """
        self._take_in(note)
        return self._guess()

    def _take_in(self, note: HeardNote) -> None:
        arrays = self._arrays
        self._heard += 1
        surprise = -self._any_music.hear(note.pitch)
        gap = note.onset_seconds - self._last_seconds
        self._last_seconds = note.onset_seconds
        earned = ADDED_COST * self._heard
        low, high = int(arrays.first_entry[note.pitch]), int(arrays.first_entry[note.pitch + 1])
        if low < high:
            self._carry_on(note.pitch, low, high, surprise, gap)
        if len(self._best):
            top = float(self._best.max()) - earned
            self._nothing = max(self._nothing, top - LEAVING_COST)

    def _carry_on(self, pitch: int, low: int, high: int, surprise: float, gap: float) -> None:
        """Carry the explanations on at all places where a key is written."""
        arrays = self._arrays
        state = arrays.state[low:high]
        free = arrays.free[low:high]
        stay_cost, go_cost = _time_costs(gap)

        entered_at = self._entered[state]
        stay = self._level[state] - np.float32(stay_cost)
        used = (self._last_strike[low:high] >= entered_at) & ~free
        stay[used] = _NEVER

        one, two, three = self._left_before
        keys = arrays.keys
        skipped = np.minimum(MISSED_COST * keys[state - 1], MOST_MISSED_COST)
        go = one[state]
        np.maximum(go, two[state] - skipped, out=go)
        skipped += np.minimum(MISSED_COST * keys[state - 2], MOST_MISSED_COST)
        np.maximum(go, three[state] - skipped, out=go)
        go -= np.float32(go_cost)

        begin = ADDED_COST * (self._heard - 1) + self._nothing - self._enter
        anew = np.maximum(self._best - self._restart, np.float32(begin))
        np.maximum(go, anew[arrays.piece[low:high]], out=go)

        entering = go > stay
        level = np.maximum(go, stay)
        level += np.maximum(surprise - arrays.order_cost[low:high], -0.1) + ADDED_COST
        struck = np.where(entering, 0, self._struck[state]) + ~free
        missing = np.minimum(MISSED_COST * np.maximum(keys[state] - struck, 0), MOST_MISSED_COST)

        self._level[state] = level
        self._left[state] = level - missing
        self._struck[state] = struck
        self._entered[state] = np.where(entering, self._heard, entered_at)
        self._last_strike[low:high] = self._heard
        pieces = arrays.pieces_at[pitch]
        highest = np.maximum.reduceat(level, arrays.piece_starts[pitch])
        self._best[pieces] = np.maximum(self._best[pieces], highest)

    def _guess(self) -> PieceGuess | None:
        if not len(self._best):
            return None
        top = int(self._best.argmax())
        confidence = float(self._shares()[top])
        if confidence < LEAST_CONFIDENCE:
            return None
        arrays = self._arrays
        first = int(arrays.first_state[top])
        here = first + int(self._level[first : int(arrays.first_state[top + 1])].argmax())
        return PieceGuess(
            piece_key=arrays.keys_of[top],
            onset_quarters=float(arrays.quarters[here]),
            confidence=confidence,
            notes_heard=self._heard,
            hands=READINGS[int(arrays.reading[here])],
        )

    def _shares(self) -> NDArray[np.float64]:
        """How likely each piece is, against all others and against none."""
        evidence = np.append(self._best - ADDED_COST * self._heard, self._nothing)
        likelihood = np.exp(TEMPERING * (evidence - evidence.max()).astype(np.float64))
        return np.asarray(likelihood / likelihood.sum())


def _time_costs(gap_seconds: float) -> tuple[float, float]:
    """Costs of staying at an onset and of going on, by the time since the note before."""
    apart = (gap_seconds - TOGETHER_SECONDS) / (APART_SECONDS - TOGETHER_SECONDS)
    apart = min(1.0, max(0.0, apart))
    return WRONG_TIME_COST * apart, WRONG_TIME_COST * max(0.0, 1.0 - 2.0 * apart)


def stretches_of_take(
    index: ShelfIndex, heard_notes: Sequence[HeardNote]
) -> tuple[PlayedStretch, ...]:
    """Cut a take into stretches by what was played: a warm-up, then a piece, then another.

    A stretch begins where its piece was first guessed, minus the notes it took to be sure.
    """
    recogniser = Recogniser(index)
    notes = sorted(heard_notes, key=lambda note: note.onset_seconds)
    guesses = [recogniser.hear(note) for note in notes]
    stretches: list[PlayedStretch] = []
    for played, guess in enumerate(guesses):
        key = guess.piece_key if guess is not None else None
        confidence = guess.confidence if guess is not None else 0.0
        if stretches and stretches[-1].piece_key == key:
            last = stretches[-1]
            stretches[-1] = PlayedStretch(
                piece_key=key,
                first_played=last.first_played,
                last_played=played,
                confidence=max(last.confidence, confidence),
            )
        else:
            stretches.append(
                PlayedStretch(
                    piece_key=key, first_played=played, last_played=played, confidence=confidence
                )
            )
    return tuple(stretches)


def recognise_take(index: ShelfIndex, heard_notes: Sequence[HeardNote]) -> PieceGuess | None:
    """Which piece a whole take is of: the one that most of its known notes belong to.

    Returns
    -------
    PieceGuess or None
        With the place and hands of the last note that belonged to it; None when nothing was known.
    """
    recogniser = Recogniser(index)
    last: dict[str, PieceGuess] = {}
    counts: dict[str, int] = {}
    for note in sorted(heard_notes, key=lambda note: note.onset_seconds):
        guess = recogniser.hear(note)
        if guess is not None:
            last[guess.piece_key] = guess
            counts[guess.piece_key] = counts.get(guess.piece_key, 0) + 1
    if not counts:
        return None
    return last[max(counts, key=lambda key: counts[key])]
