"""Which pieces of a shelf are the same music: two editions, a copy, a movement and the whole work.

Nobody can tell from the keys alone which of two editions is being played, so that their shares must
not be weighed against each other as those of different pieces are. Two pieces are the same music
when two thirds of the turns of the shorter one, three onsets each with all their keys, stand in the
other one as well; settings of the same tune share far fewer.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

SHARED_BY_EDITIONS = 0.65

MOST_PIECES = 8
"""Turns are compared among this many pieces that have them; what more have says little."""

_NAMES = np.random.default_rng(7).integers(1, 2**63, (3, 128), dtype=np.uint64) | np.uint64(1)
"""A number per key and place in the turn; their sum stands for a turn, chance twins are rare."""


def turns(state: NDArray[np.int64], pitch: NDArray[np.int64]) -> NDArray[np.uint64]:
    """A number for each three onsets in a row with all their keys, each once.

    Parameters
    ----------
    state, pitch
        Per written key its onset, counted through, and its key.
    """
    if not len(state):
        return np.zeros(0, np.uint64)
    onset = np.unique(state, return_inverse=True)[1].reshape(-1)
    count = int(onset.max()) + 1
    if count < len(_NAMES):
        return np.zeros(0, np.uint64)
    found = np.zeros(count - len(_NAMES) + 1, np.uint64)
    for place, names in enumerate(_NAMES):
        chords = np.zeros(count, np.uint64)
        np.add.at(chords, onset, names[pitch])
        found += chords[place : place + len(found)]
    return np.unique(found)


def same_music(pieces: Sequence[NDArray[np.uint64]]) -> NDArray[np.int64]:
    """Number the pieces so that editions of the same music have the same number.

    Parameters
    ----------
    pieces
        Per piece its :func:`turns`.

    Returns
    -------
    array of int
        Per piece the place of the first piece that is the same music, often its own.
    """
    first = np.arange(len(pieces), dtype=np.int64)
    if len(pieces) < 2:
        return first
    counts = np.array([len(one) for one in pieces])
    turn = np.concatenate(list(pieces))
    order = np.argsort(turn, kind="stable")
    turn, piece = turn[order], np.repeat(np.arange(len(pieces)), counts)[order]
    shared = np.zeros((len(pieces), len(pieces)), np.int64)
    for apart in range(1, MOST_PIECES):
        twins = np.flatnonzero(turn[apart:] == turn[:-apart])
        np.add.at(shared, (piece[twins], piece[twins + apart]), 1)
    enough = SHARED_BY_EDITIONS * np.minimum.outer(counts, counts)
    for one, other in np.argwhere((shared > 0) & (shared >= enough)).tolist():
        first[first == first[other]] = first[one]
    return first
