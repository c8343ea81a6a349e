"""Stretches of a take without a jump, read off the best path of the decoder.

After the whole take has been heard the path is followed backwards (Viterbi): each played note gets
the onset at which the best explanation of *everything* puts it. Where the path jumps, a new pass
begins.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding import (
    PlaceDecoder,
    is_advance,
    is_jump,
    is_right,
    is_wrong,
    stride_of,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from companion.listening.decoding import Costs
    from companion.listening.notes import HeardNote
    from companion.listening.score_onsets import ScoreOnsets


@dataclass(frozen=True, slots=True)
class Pass:
    """Notes ``first`` to ``last`` of a take, in one chain of onsets.

    ``states`` holds the state of each note, ``right`` whether its key is written there and new,
    ``wrong`` whether it stands for another key that is.
    """

    first: int
    last: int
    chain: int
    states: NDArray[np.intp]
    right: NDArray[np.bool_]
    wrong: NDArray[np.bool_]


def find_passes(
    onsets: ScoreOnsets, notes: Sequence[HeardNote], costs: Costs | None = None
) -> list[Pass]:
    """Cut a take into passes.

    Parameters
    ----------
    onsets
        The laid out score.
    notes
        Heard notes sorted by onset.
    costs
        The model of the decoder.
    """
    states, moves = _best_path(onsets, notes, costs)
    if not len(states):
        return []
    jumps = [index for index, move in enumerate(moves) if is_jump(move)]
    starts = sorted({0, *jumps})
    passes = []
    for first, behind in zip(starts, [*starts[1:], len(states)], strict=True):
        piece = slice(first, behind)
        if states[first] < 0:
            continue
        passes.append(
            Pass(
                first,
                behind - 1,
                int(onsets.state_chain[states[first]]),
                states[piece],
                np.array([is_right(move) for move in moves[piece]], np.bool_),
                np.array([is_wrong(move) for move in moves[piece]], np.bool_),
            )
        )
    return passes


def _best_path(
    onsets: ScoreOnsets, notes: Sequence[HeardNote], costs: Costs | None
) -> tuple[NDArray[np.intp], list[int]]:
    decoder = PlaceDecoder(onsets, costs)
    trail: list[tuple[NDArray[np.intp], NDArray[np.int64], int]] = []
    for note in notes:
        decoder.hear(note.onset_seconds, note.pitch, note.velocity)
        trail.append((decoder.active, decoder.move, decoder.jump_source))
    states = np.full(len(notes), -1, np.intp)
    moves = [0] * len(notes)
    state = decoder.best
    for index in range(len(notes) - 1, -1, -1):
        if state < 0:
            break
        active, move, jump_source = trail[index]
        taken = int(move[np.flatnonzero(active == state)[0]])
        states[index], moves[index] = state, taken
        if is_jump(taken):
            state = jump_source
        elif is_advance(taken):
            state -= stride_of(taken)
    return states, moves
