"""The pieces of a shelf as the recogniser needs them: every written key press by its pitch.

One piece becomes a :class:`PieceIndex`, a few flat arrays that can be pickled and kept. A
:class:`ShelfIndex` holds the pieces of a shelf; adding or removing one copies no other. Its arrays
over all pieces (:class:`ShelfArrays`) are laid out when they are first asked for.

Conventions
-----------
- A *state* is a written onset in one of three readings of the piece: both hands together, the right
  hand alone, the left hand alone. ``LONGEST_STRIDE`` empty states stand before each reading, so
  that "the onset three before" never reaches into another reading or piece.
- An *entry* is one key that can be struck at one state.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.notes import Hands
from companion.listening.recognition.same_music import same_music, turns
from companion.score.model import Hand, ScoreNote

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray

INDEX_VERSION = 1
"""Raise it whenever the same notes give another index: kept ones are then made anew."""

LONGEST_STRIDE = 3
"""How many written onsets a player may leave out at once and still be followed."""

MISSED_COST = 1.8
"""A written key that was not struck before the player went on."""

MOST_MISSED_COST = 4.5
"""At most this for one onset: a hand may drop out."""

READINGS = (Hands.BOTH, Hands.RIGHT, Hands.LEFT)

PITCHES = 128
GRACE_QUARTERS = 0.5
ORNAMENT_NEIGHBOURS = (-2, -1, 0, 1, 2)
"""Keys of an ornament, in semitones from the adorned note."""


@dataclass(frozen=True, slots=True)
class PieceIndex:
    """What one piece needs to be recognised by.

    Parameters
    ----------
    quarters
        Per state the written onset (quarters, as printed).
    reading
        Per state the place in :data:`READINGS`; -1 for empty states.
    keys
        Per state how many different keys are expected.
    pitch, state
        Per entry the key and where it is written.
    free
        Per entry whether it may be struck any number of times, or not at all (ornaments, graces).
    """

    quarters: NDArray[np.float32]
    reading: NDArray[np.int8]
    keys: NDArray[np.uint8]
    pitch: NDArray[np.uint8]
    state: NDArray[np.int32]
    free: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class ShelfArrays:
    """All pieces behind one another; entries are sorted by pitch.

    Parameters
    ----------
    keys_of
        The keys of the pieces, in order.
    music
        Per piece a number that editions of the same music share
        (:mod:`companion.listening.recognition.same_music`).
    first_state
        Per piece its first state, and the number of all states at the end.
    quarters, reading
        Per state, as in :class:`PieceIndex`.
    first_entry
        Per pitch its first entry, and the number of all entries at the end.
    state, piece, counts
        Per entry where it is written, and 1 where it is expected, 0 where it is free.
    around
        Per entry a bit for each other key of its onset and of the three before it, key number
        modulo 64: two keys that share a bit are over five octaves apart.
    order_cost
        Per entry: log of the number of orders in which its chord can be struck, shared by its keys.
    keys_at, skip_one, skip_two
        Per entry: keys of its own onset, and the costs of leaving out the onset before it or the
        two before it.
    """

    keys_of: tuple[str, ...]
    music: NDArray[np.int64]
    first_state: NDArray[np.int64]
    quarters: NDArray[np.float32]
    reading: NDArray[np.int8]
    first_entry: NDArray[np.int64]
    state: NDArray[np.int64]
    piece: NDArray[np.int32]
    counts: NDArray[np.int32]
    around: NDArray[np.uint64]
    order_cost: NDArray[np.float32]
    keys_at: NDArray[np.float32]
    skip_one: NDArray[np.float32]
    skip_two: NDArray[np.float32]

    @property
    def states(self) -> int:
        """Number of states."""
        return len(self.quarters)


@dataclass(frozen=True)
class ShelfIndex:
    """The pieces of a shelf by their keys; a value, never changed in place."""

    pieces: Mapping[str, PieceIndex] = field(default_factory=dict)

    def __contains__(self, piece_key: str) -> bool:
        return piece_key in self.pieces

    def __len__(self) -> int:
        return len(self.pieces)

    def with_piece(self, piece_key: str, piece: PieceIndex) -> ShelfIndex:
        """Return the shelf with this piece added, or put in the place of the one with its key."""
        return ShelfIndex({**self.pieces, piece_key: piece})

    def without(self, piece_key: str) -> ShelfIndex:
        """Return the shelf without this piece."""
        return ShelfIndex({key: one for key, one in self.pieces.items() if key != piece_key})

    @cached_property
    def arrays(self) -> ShelfArrays:
        """The arrays over all pieces."""
        return _lay_out(self.pieces)

    def __getstate__(self) -> dict[str, object]:
        return {"pieces": self.pieces}  # the arrays are laid out again where they are needed


def build_index(pieces: Mapping[str, Sequence[ScoreNote]]) -> ShelfIndex:
    """Index several pieces at once.

    Parameters
    ----------
    pieces
        The written notes of each piece, in any order, by the key it shall be known by.
    """
    return ShelfIndex({key: index_piece(notes) for key, notes in pieces.items()})


def index_piece(score_notes: Sequence[ScoreNote]) -> PieceIndex:
    """Index one piece.

    Parameters
    ----------
    score_notes
        The written notes, in any order. Notes that are not expected (cues, hidden notes) may be
        struck and are never missed.
    """
    count = len(score_notes)
    quarters = np.fromiter((float(n.onset_quarters) for n in score_notes), np.float64, count)
    quarters = quarters.round(5)
    pitch = np.fromiter((int(n.pitch) for n in score_notes), np.int64, count)
    right = np.fromiter((n.playing_hand is Hand.RIGHT for n in score_notes), np.bool_, count)
    free = np.fromiter((n.grace or not n.expected for n in score_notes), np.bool_, count)
    adorned = [k for k, n in enumerate(score_notes) if n.ornament]

    readings: list[_Reading] = []
    chosen = [np.ones(count, np.bool_)]
    if right.any() and not right.all():  # music for one hand needs no reading of its own for it
        chosen += [right, ~right]
    first = 0
    for number, those in enumerate(chosen):
        ornaments = [
            (quarters[k], _lasts(score_notes[k]), int(pitch[k])) for k in adorned if those[k]
        ]
        one = _read(number, first, quarters[those], pitch[those], free[those], ornaments)
        readings.append(one)
        first += len(one.quarters)
    return PieceIndex(
        quarters=np.concatenate([one.quarters for one in readings]),
        reading=np.concatenate([one.reading for one in readings]),
        keys=np.concatenate([one.keys for one in readings]),
        pitch=np.concatenate([one.pitch for one in readings]),
        state=np.concatenate([one.state for one in readings]),
        free=np.concatenate([one.free for one in readings]),
    )


@dataclass(frozen=True, slots=True)
class _Reading:
    quarters: NDArray[np.float32]
    reading: NDArray[np.int8]
    keys: NDArray[np.uint8]
    pitch: NDArray[np.uint8]
    state: NDArray[np.int32]
    free: NDArray[np.bool_]


def _lasts(note: ScoreNote) -> float:
    return max(float(note.duration_quarters), GRACE_QUARTERS)


def _read(
    number: int,
    first: int,
    quarters: NDArray[np.float64],
    pitch: NDArray[np.int64],
    free: NDArray[np.bool_],
    ornaments: Iterable[tuple[float, float, int]],
) -> _Reading:
    """One reading of a piece; its states are counted from ``first``."""
    onsets, place = np.unique(quarters, return_inverse=True)
    place, key, loose = place.reshape(-1), pitch, free
    for starts, lasts, main in ornaments:
        low, high = np.searchsorted(onsets, (starts - 1e-6, starts + lasts - 1e-6))
        under = np.arange(low, high)
        around = np.array([k for d in ORNAMENT_NEIGHBOURS if 0 <= (k := main + d) < PITCHES])
        place = np.concatenate([place, np.repeat(under, len(around))])
        key = np.concatenate([key, np.tile(around, len(under))])
        loose = np.concatenate([loose, np.ones(len(under) * len(around), np.bool_)])
    # The same key may be written twice at an onset (two voices, or note and ornament): one entry,
    # which is expected when one of them is.
    joined, which = np.unique(place * PITCHES + key, return_inverse=True)
    expected = np.zeros(len(joined), np.bool_)
    expected[which.reshape(-1)[~loose]] = True
    repeatable = np.zeros(len(joined), np.bool_)
    repeatable[which.reshape(-1)[loose]] = True
    state = joined // PITCHES
    keys = np.bincount(state[expected], minlength=len(onsets)).clip(0, 255)
    padded = np.concatenate([np.zeros(LONGEST_STRIDE), onsets])
    return _Reading(
        quarters=padded.astype(np.float32),
        reading=np.concatenate([np.full(LONGEST_STRIDE, -1), np.full(len(onsets), number)]).astype(
            np.int8
        ),
        keys=np.concatenate([np.zeros(LONGEST_STRIDE), keys]).astype(np.uint8),
        pitch=(joined % PITCHES).astype(np.uint8),
        state=(state + first + LONGEST_STRIDE).astype(np.int32),
        free=repeatable,
    )


def _lay_out(pieces: Mapping[str, PieceIndex]) -> ShelfArrays:
    if not pieces:
        pieces = {"": index_piece(())}  # arrays of no length with the right types
        return replace(_lay_out(pieces), keys_of=(), music=np.zeros(0, np.int64))
    several = list(pieces.values())
    lengths = [len(one.quarters) for one in several]
    first_state = np.concatenate([[0], np.cumsum(lengths)]).astype(np.int64)
    entries = [len(one.pitch) for one in several]
    piece = np.repeat(np.arange(len(several)), entries)
    pitch = np.concatenate([one.pitch for one in several])
    state = np.concatenate([one.state for one in several]) + first_state[piece]
    keys = np.concatenate([one.keys for one in several]).astype(np.float32)
    order = np.argsort(pitch, kind="stable")  # within a pitch: by piece, then by state
    first_entry = np.searchsorted(pitch[order], np.arange(PITCHES + 1))
    state, piece = state[order], piece[order]
    # log(k!) / k for chords of k keys
    shared = np.array([math.lgamma(k + 1) / max(k, 1) for k in range(256)], np.float32)
    left_out = np.minimum(MISSED_COST * keys, MOST_MISSED_COST).astype(np.float32)
    skip_one = left_out[np.maximum(state - 1, 0)]
    return ShelfArrays(
        keys_of=tuple(pieces),
        music=same_music([_turns(one) for one in several]),
        first_state=first_state,
        quarters=np.concatenate([one.quarters for one in several]),
        reading=np.concatenate([one.reading for one in several]),
        first_entry=first_entry,
        state=state,
        piece=piece.astype(np.int32),
        around=_around(pitch[order], state, len(keys)),
        counts=(~np.concatenate([one.free for one in several])[order]).astype(np.int32),
        order_cost=shared[keys[state].astype(np.int64)],
        keys_at=keys[state],
        skip_one=skip_one,
        skip_two=skip_one + left_out[np.maximum(state - 2, 0)],
    )


def _turns(piece: PieceIndex) -> NDArray[np.uint64]:
    """Of both hands together, without what is free to be played."""
    counted = ~piece.free & (piece.reading[piece.state] == 0)
    return turns(piece.state[counted].astype(np.int64), piece.pitch[counted].astype(np.int64))


def _around(pitch: NDArray[np.uint8], state: NDArray[np.int64], states: int) -> NDArray[np.uint64]:
    """Per entry the bits of the other keys at its onset and the ones before it."""
    bit = np.left_shift(np.uint64(1), (pitch % 64).astype(np.uint64))
    at = np.zeros(states + LONGEST_STRIDE, np.uint64)
    np.bitwise_or.at(at, state + LONGEST_STRIDE, bit)
    around = at[state + LONGEST_STRIDE] & ~bit
    for stride in range(1, LONGEST_STRIDE + 1):
        around |= at[state + LONGEST_STRIDE - stride]
    return around
