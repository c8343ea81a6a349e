"""Which piece is being played, and roughly where: from the heard notes alone.

Every written key press of every piece on the shelf is kept by its pitch
(:mod:`companion.listening.recognition.piece_index`). A heard note looks up all places where its key
is written, and at each of them the best explanation of the playing so far is carried on: the note
belongs to the same chord as the one before, to one of the next written onsets, or begins anew. Each
explanation keeps one number, how much likelier it makes the playing than no piece at all
(:mod:`companion.listening.recognition.any_music`), in natural logarithms. Keys that are missing or
do not fit cost; nothing else is searched, so a note takes a fraction of a millisecond.

That is a local alignment of two sequences (Smith & Waterman 1981, from memory) laid over an
inverted index, where the notes of a chord may come in any order. Recognising symbolic music by an
index that does not mind the tempo follows Arzt, Boeck & Widmer 2012 (ISMIR, "Fast identification of
piece and score position via symbolic fingerprinting", from memory); they look up triples of notes
and vote, here single notes are looked up and the order is checked while listening.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.notes import Hands, HeardNote
from companion.listening.recognition.any_music import AnyMusic
from companion.listening.recognition.piece_index import (
    LONGEST_STRIDE,
    MISSED_COST,
    MOST_MISSED_COST,
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

LEAST_SHARE, LEAST_SHARE_IN_DOUBT = 0.8, 0.9
SURE_EVIDENCE = 7.0
"""A piece is named when it is at least this likely against all other pieces together, more where
there is little evidence for any piece at all ..."""

EVIDENCE_ASKED_AFTER = (4, 7, 8, 16, 32)
EVIDENCE_ASKED = (8.0, 5.0, 3.0, 4.0, 6.5)
"""... and so much (natural logarithm) likelier than no piece at all after so many notes, in between
in proportion. Before the eighth note a piece must be nearly certain; later who plays a piece of the
shelf is mostly far beyond what is asked, and whoever plays something else is more often like some
piece the longer it lasts. Measured with pieces that are not on the shelf."""

LEAST_SHARE_TO_STAY, EVIDENCE_TO_STAY = 0.5, 2.5
"""Once named a piece stays named down to this: a few wrong keys do not make it another piece."""

EDITIONS_ALIKE = 8.0
"""An edition on the stand is not given up for another one for less than this, about one key that
fits the other one better: it may have been a slip."""

CONFIDENCE_SLOPE, CONFIDENCE_LESS = 0.52, 2.5
"""The confidence that is told is the share of right names among all that were given with so much
evidence: counted where one half of the takes was of music that is not on the shelf, but much like
it. Any music is like some piece somewhere, so that evidence is worth less than it seems."""

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

TOGETHER_SECONDS = 0.03
APART_SECONDS = 0.15
"""Keys struck nearer than the first are a chord, keys further apart than the second are not, most
of the time: 95 in 100 chords of professionals lie within 69 ms (Vienna 4x22)."""

AT_ONCE_SECONDS = 0.05

WRONG_TIME_COST = 2.0

IN_TIME_GAIN = 1.2
STEADY_GAIN = 0.25
OUT_OF_TIME_COST = 1.2
STEADY = 0.2
"""A step from onset to onset in the tempo of the steps before speaks for a place, a step out of it
against it. It speaks little when it is as long as the step before (log of the ratio within
``STEADY``): most steps in any music are."""

TEMPO_SPREAD = 0.25
"""Standard deviation of the log of the tempo from one step to the next."""

TEMPO_FOLLOWS = 0.5
"""How far the tempo follows each step."""

NEIGHBOURS = 4
NEIGHBOURS_ASKED = 3
"""A place is looked at when two of the last four keys are written around it, too; one of them, as
long as fewer than three different ones were heard."""

MOST_PLACES = 6_000
"""With more such places, three of the last four keys are asked for."""

NOTES_BEFORE_NAMED = 16

SHORTEST_STEP_SECONDS = 0.02

_NEVER = np.float32(-1e30)
_NOTE = 8  # a visit of a state is one number: note of entering << _NOTE | tempo known | keys struck
_TEMPO_KNOWN = 1 << 7
_STRUCK = _TEMPO_KNOWN - 1
_IN_VISIT = (1 << _NOTE) - 1


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
    same_music
        Keys of other pieces of the shelf that are the same music: another edition, a copy.
    """

    piece_key: str
    onset_quarters: float
    confidence: float
    notes_heard: int
    hands: Hands = Hands.BOTH
    same_music: tuple[str, ...] = ()


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
    at_hand
        The piece on the stand: of several editions of the same music this one is meant as long as
        it fits nearly as well as the others. Without it the edition that fits best is named, the
        first of the shelf where all fit alike.
    """

    def __init__(self, index: ShelfIndex, at_hand: str | None = None) -> None:
        self._arrays = index.arrays
        keys = self._arrays.keys_of
        self._at_hand = keys.index(at_hand) if at_hand in keys else -1
        self._any_music = AnyMusic()
        lengths = np.diff(self._arrays.first_state)
        self._restart = (RESTART_COST + np.log(np.maximum(lengths, 1))).astype(np.float32)
        self._log_places = math.log(max(self._arrays.states, FEWEST_PLACES))
        self.forget()

    def forget(self) -> None:
        """Begin a new take: nothing is known."""
        arrays = self._arrays
        self._any_music.forget()
        self._heard = 0
        self._seconds = np.zeros(1024)  # by number of the note, from 1
        self._onset_seconds: deque[float] = deque(maxlen=3)
        self._recent: deque[int] = deque(maxlen=NEIGHBOURS)
        # Levels are counted as if each heard note had earned ADDED_COST for whoever explains it: so
        # a note that an explanation does not account for costs it without being touched.
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
        self._best = np.full(len(arrays.keys_of), _NEVER)
        self._nothing = 0.0
        self._in_time_gain = IN_TIME_GAIN
        self._here = 0
        self._named = -1

    def hear(self, note: HeardNote) -> PieceGuess | None:
        """Take one more note, in order of time.

        Returns
        -------
        PieceGuess or None
            None while the notes do not tell.
        """
        surprise = -self._any_music.hear(note.pitch, note.onset_seconds)
        self._heard += 1
        if self._heard == len(self._seconds):
            self._seconds = np.append(self._seconds, np.zeros(len(self._seconds)))
        self._seconds[self._heard] = note.onset_seconds
        self._hear_rhythm(note.onset_seconds)
        entries = self._likely(note.pitch)
        self._recent.append(note.pitch)
        if len(entries):
            self._carry_on(entries, surprise)
        if not len(self._best):
            return None
        top = float(self._best.max()) - ADDED_COST * self._heard
        self._nothing = max(self._nothing, top - LEAVING_COST)
        return self._guess()

    def _hear_rhythm(self, seconds: float) -> None:
        """How much it would say for a place that the last note came in time there."""
        onsets = self._onset_seconds
        if onsets and seconds - onsets[-1] < AT_ONCE_SECONDS:
            return  # the same chord: its first note has told
        onsets.append(seconds)
        self._in_time_gain = IN_TIME_GAIN
        if len(onsets) == 3:
            change = math.log((onsets[2] - onsets[1]) / (onsets[1] - onsets[0]))
            if abs(change) < STEADY:
                self._in_time_gain = STEADY_GAIN

    def _carry_on(self, entries: NDArray[np.int64], surprise: float) -> None:
        """Carry the explanations on at some of the places where a key is written."""
        arrays = self._arrays
        heard = self._heard
        gap = float(self._seconds[heard] - self._seconds[heard - 1]) if heard > 1 else math.inf
        stay_cost, go_cost = _time_costs(gap)
        state, keys, counts = arrays.state[entries], arrays.keys_at[entries], arrays.counts[entries]

        # Another key of the same chord: what was missed in it is not missed yet.
        visit = self._visit[state]
        struck = visit & _STRUCK
        stay = self._left[state]
        stay += _missing(keys - struck)
        stay -= np.float32(stay_cost)
        stay[self._last_strike[entries] >= visit - (visit & _IN_VISIT)] = _NEVER

        # A beginning, here or after a jump within the piece.
        piece = arrays.piece[entries].astype(np.int64)
        starts = np.flatnonzero(np.diff(piece, prepend=-1))
        pieces = piece[starts]
        first = ENTERING_FIRST_COST if heard <= FIRST_NOTES else ENTERING_COST
        begin = ADDED_COST * (heard - 1) + self._nothing - self._log_places - first
        anew = np.maximum(self._best[pieces] - self._restart[pieces], np.float32(begin))
        enter = np.repeat(anew, np.diff(starts, append=len(piece)))

        # One of the next onsets.
        one, two, three = self._left_before
        go = one[state]
        np.maximum(go, two[state] - arrays.skip_one[entries], out=go)
        np.maximum(go, three[state] - arrays.skip_two[entries], out=go)
        going = np.flatnonzero(go - np.float32(go_cost - IN_TIME_GAIN) > np.maximum(enter, stay))
        fresh_visit = np.full(len(entries), heard << _NOTE, np.int32)
        tempo_at, tempo = going[:0], self._tempo[:0]
        if len(going):
            level, tempo = self._in_time(entries[going])
            level -= np.float32(go_cost)
            better = level > enter[going]
            tempo_at, tempo = going[better], tempo[better]
            enter[tempo_at] = level[better]
            fresh_visit[tempo_at] += _TEMPO_KNOWN

        entering = enter > stay
        level = np.maximum(enter, stay)
        level += np.maximum(surprise - arrays.order_cost[entries], -0.1) + ADDED_COST
        visit = np.where(entering, fresh_visit, visit)
        visit += counts
        self._visit[state] = visit
        self._left[state] = level - _missing(keys - (visit & _STRUCK))
        self._last_strike[entries] = counts * (heard << _NOTE)
        kept = entering[tempo_at]
        self._tempo[state[tempo_at[kept]]] = tempo[kept]
        self._note_best(pieces, starts, state, level)

    def _likely(self, pitch: int) -> NDArray[np.int64]:
        """The entries of a key around which some of the last keys are written, too."""
        arrays = self._arrays
        low, high = arrays.first_entry[pitch : pitch + 2].tolist()
        if not self._recent:
            return np.arange(low, high)
        bits = 0
        for before in self._recent:
            bits |= 1 << (before % 64)
        around = arrays.around[low:high] & np.uint64(bits)
        if bits.bit_count() >= NEIGHBOURS_ASKED:  # at least two of them: one bit less is not zero
            around &= around - np.uint64(1)
            if np.count_nonzero(around) > MOST_PLACES:  # a very large shelf: three of them
                around &= around - np.uint64(1)
        return np.asarray(np.flatnonzero(around) + low)

    def _in_time(
        self, entries: NDArray[np.int64]
    ) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Levels of going on to some entries, by the tempo of the step, and the tempo after it."""
        arrays = self._arrays
        state = arrays.state[entries]
        quarters = arrays.quarters[state]
        now_seconds = self._seconds[self._heard]
        gain = self._in_time_gain
        best = np.full(len(state), _NEVER)
        tempo = np.zeros(len(state), np.float32)
        costs = (None, arrays.skip_one, arrays.skip_two)
        for stride, cost in enumerate(costs, 1):
            before = np.maximum(state - stride, 0)
            level = self._left_before[stride - 1][state]
            if cost is not None:
                level = level - cost[entries]
            visit = self._visit[before]
            elapsed = now_seconds - self._seconds[visit >> _NOTE]
            step = np.maximum(quarters - arrays.quarters[before], 1e-3)
            now = np.log(np.maximum(elapsed, SHORTEST_STEP_SECONDS) / step).astype(np.float32)
            known = (visit & _TEMPO_KNOWN) > 0
            change = np.where(known, now - self._tempo[before], 0.0).astype(np.float32)
            against = np.minimum((change / TEMPO_SPREAD) ** 2 / 2, gain + OUT_OF_TIME_COST)
            level = level + np.where(known, gain - against, 0.0).astype(np.float32)
            after = now - change + np.clip(TEMPO_FOLLOWS * change, -0.3, 0.3)
            better = level > best
            best[better] = level[better]
            tempo[better] = after[better]
        return best, tempo

    def _note_best(
        self,
        pieces: NDArray[np.int64],
        starts: NDArray[np.int64],
        state: NDArray[np.int64],
        level: NDArray[np.float32],
    ) -> None:
        """Keep the best level of each piece, and where the best of all was reached."""
        highest = np.maximum.reduceat(level, starts)
        top = int(highest.argmax())
        if highest[top] > self._best.max():
            start = int(starts[top])
            end = int(starts[top + 1]) if top + 1 < len(starts) else len(level)
            self._here = int(state[start + int(level[start:end].argmax())])
        self._best[pieces] = np.maximum(self._best[pieces], highest)

    def _guess(self) -> PieceGuess | None:
        arrays = self._arrays
        best = int(self._best.argmax())
        level = float(self._best[best])
        editions = np.flatnonzero(arrays.music == arrays.music[best])
        all_shares = np.exp((self._best - level).astype(np.float64))
        others = float(all_shares.sum() - all_shares[editions].sum())
        evidence = level - ADDED_COST * self._heard - self._nothing
        top = self._edition(best, editions)
        share = LEAST_SHARE if evidence >= SURE_EVIDENCE else LEAST_SHARE_IN_DOUBT
        asked = _evidence_asked(self._heard)
        if top == self._named:
            share, asked = LEAST_SHARE_TO_STAY, min(asked, EVIDENCE_TO_STAY)
        if 1.0 / (1.0 + others) < share or evidence < asked:
            self._named = -1
            return None
        self._named = top
        here = self._here if top == best else self._best_place(top)
        return PieceGuess(
            piece_key=arrays.keys_of[top],
            onset_quarters=float(arrays.quarters[here]),
            confidence=1.0
            / (1.0 + others + math.exp(CONFIDENCE_LESS - CONFIDENCE_SLOPE * evidence)),
            notes_heard=self._heard,
            hands=READINGS[int(arrays.reading[here])],
            same_music=tuple(arrays.keys_of[k] for k in editions.tolist() if k != top),
        )

    def _edition(self, best: int, editions: NDArray[np.int64]) -> int:
        """Which edition of the same music is meant."""
        if len(editions) == 1:
            return best
        fit = [k for k in editions.tolist() if self._best[k] >= self._best[best] - EDITIONS_ALIKE]
        return next((k for k in (self._at_hand, self._named) if k in fit), best)

    def _best_place(self, piece: int) -> int:
        first, end = self._arrays.first_state[piece : piece + 2].tolist()
        return int(first + self._left[first:end].argmax())


def _evidence_asked(heard: int) -> float:
    """How much likelier than nothing a piece must be to be named after so many notes."""
    return float(np.interp(heard, EVIDENCE_ASKED_AFTER, EVIDENCE_ASKED))


def _missing(keys: NDArray[np.float32]) -> NDArray[np.float32]:
    """The cost of leaving an onset while this many of its keys were not struck."""
    cost = np.maximum(keys, 0).astype(np.float32)
    cost *= np.float32(MISSED_COST)
    return np.minimum(cost, np.float32(MOST_MISSED_COST), out=cost)


def _time_costs(gap_seconds: float) -> tuple[float, float]:
    """Costs of staying at an onset and of going on, by the time since the note before."""
    apart = (gap_seconds - TOGETHER_SECONDS) / (APART_SECONDS - TOGETHER_SECONDS)
    apart = min(1.0, max(0.0, apart))
    return WRONG_TIME_COST * apart, WRONG_TIME_COST * max(0.0, 1.0 - 2.0 * apart)


def stretches_of_take(
    index: ShelfIndex, heard_notes: Sequence[HeardNote], at_hand: str | None = None
) -> tuple[PlayedStretch, ...]:
    """Cut a take into stretches by what was played: a warm-up, then a piece, then another.

    A piece is named some notes after it began: up to ``NOTES_BEFORE_NAMED`` unknown notes before
    are counted with it. ``at_hand`` is the piece on the stand, see :class:`Recogniser`.
    """
    recogniser = Recogniser(index, at_hand)
    notes = sorted(heard_notes, key=lambda note: note.onset_seconds)
    stretches: list[PlayedStretch] = []
    for played, note in enumerate(notes):
        guess = recogniser.hear(note)
        key = guess.piece_key if guess is not None else None
        confidence = guess.confidence if guess is not None else 0.0
        first = played
        if stretches and stretches[-1].piece_key == key:
            last = stretches.pop()
            first, confidence = last.first_played, max(last.confidence, confidence)
        elif stretches and stretches[-1].piece_key is None:
            unknown = stretches.pop()
            first = max(unknown.first_played, played - NOTES_BEFORE_NAMED)
            if first > unknown.first_played:
                stretches.append(replace(unknown, last_played=first - 1))
        stretches.append(
            PlayedStretch(
                piece_key=key, first_played=first, last_played=played, confidence=confidence
            )
        )
    return _joined(stretches)


def _joined(stretches: Sequence[PlayedStretch]) -> tuple[PlayedStretch, ...]:
    """Neighbours of the same piece as one."""
    joined: list[PlayedStretch] = []
    for one in stretches:
        if joined and joined[-1].piece_key == one.piece_key:
            before = joined.pop()
            one = replace(
                one,
                first_played=before.first_played,
                confidence=max(before.confidence, one.confidence),
            )
        joined.append(one)
    return tuple(joined)


def recognise_take(
    index: ShelfIndex, heard_notes: Sequence[HeardNote], at_hand: str | None = None
) -> PieceGuess | None:
    """Which piece a whole take is of: the one that most of its known notes belong to.

    Returns
    -------
    PieceGuess or None
        With the place and hands of the last note that belonged to it; None when nothing was known.
    """
    recogniser = Recogniser(index, at_hand)
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
