"""Stretches of a take without a jump, read off the best path of the decoder.

After the whole take has been heard the path is followed backwards (Viterbi): each played note gets
the onset at which the best explanation of *everything* puts it. Where the path jumps, a new pass
begins.
"""

from __future__ import annotations

from collections import deque
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

    from companion.listening.decoding import Costs, Memory
    from companion.listening.notes import HeardNote
    from companion.listening.score_onsets import ScoreOnsets

NOTES_PER_MARK = 4
MARKS = 5
"""While nobody jumps the decoder is remembered every few notes, so many times."""
WEIGH_NOTES = 16
"""Once there is a reason to, jumps are weighed for at least so many notes."""
MISFIT = 8.0
"""Cost of the notes since the oldest mark that is a reason to weigh jumps from there on."""


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


def _walk(
    decoder: PlaceDecoder, notes: Sequence[HeardNote]
) -> list[tuple[NDArray[np.intp], NDArray[np.int64], int]]:
    """Hear all notes, weighing new starts only where the music gives a reason to.

    While the player plainly goes on, jumps are not weighed at all, which is several times faster.
    A pause is a reason to weigh them; so is misfit, for which the decoder goes back to before it.
    """
    trail: list[tuple[NDArray[np.intp], NDArray[np.int64], int]] = []
    marks: deque[tuple[int, Memory]] = deque(maxlen=MARKS)
    losses: deque[float] = deque(maxlen=MARKS * NOTES_PER_MARK)
    open_until = WEIGH_NOTES
    index = 0
    while index < len(notes):
        note = notes[index]
        pause = index > 0 and decoder.pauses(note.onset_seconds)
        if pause:
            open_until = max(open_until, index + WEIGH_NOTES)
        free = index < open_until
        if not free and index % NOTES_PER_MARK == 0:
            marks.append((index, decoder.remember()))
        decoder.hear(note.onset_seconds, note.pitch, note.velocity, may_jump=free)
        trail.append((decoder.active, decoder.move, decoder.jump_source))
        index += 1
        if free:
            marks.clear()
            losses.clear()
            if index == open_until and not decoder.is_settled():
                open_until += 1
            continue
        losses.append(decoder.last_cost)
        if sum(losses) > MISFIT:
            # The stretch before was played from the first mark on: weigh everything there.
            began, memory = marks[0] if marks else (index, decoder.remember())
            decoder.go_back_to(memory)
            del trail[began:]
            open_until = index + WEIGH_NOTES
            index = began
            losses.clear()
            marks.clear()
    return trail


def _best_path(
    onsets: ScoreOnsets, notes: Sequence[HeardNote], costs: Costs | None
) -> tuple[NDArray[np.intp], list[int]]:
    decoder = PlaceDecoder(onsets, costs)
    trail = _walk(decoder, notes)
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
