"""Trying again in place: the onset that was just complete is struck once more.

The decoder keeps one path per onset. At the first key of the second attempt it is cheaper to call
that key added, or late where a slip had stood for it, than to start anew; what follows shows that
the player has. So this is read off the finished path, gesture by gesture.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from companion.listening.decoding.moves import (
    ADDED,
    CHORD,
    JUMP,
    JUMP_WRONG,
    WRONG_IN_CHORD,
    is_wrong,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    from companion.listening.decoding.score_onsets import ScoreOnsets
    from companion.listening.notes import HeardNote

GESTURE_SECONDS = 0.08
"""Keys of one gesture follow each other within this time."""

WAIT_AFTER_SLIP_SECONDS = 0.15
WAIT_SECONDS = 0.4
"""A key struck again sooner belongs to a trill, or is a neighbour brushed on the way."""

_STAYS = (CHORD, ADDED, WRONG_IN_CHORD)


@dataclass(slots=True)
class _Attempt:
    """What has been struck at one onset since the player came to it."""

    keys: set[int]
    slips: int = 0


def begin_again_in_place(
    onsets: ScoreOnsets,
    notes: Sequence[HeardNote],
    states: NDArray[np.intp],
    moves: list[int],
) -> None:
    """Let a new pass begin where a complete onset is struck again: after a slip, or a pause.

    Parameters
    ----------
    onsets, notes
        The laid out score, and the heard notes sorted by onset.
    states, moves
        The best path; ``moves`` is changed.
    """
    attempt = _Attempt(set())
    for gesture in _gestures(notes, moves):
        first = gesture[0]
        state = int(states[first])
        if state < 0:
            continue
        written = onsets.written[:, state]
        keys = {notes[index].pitch for index in gesture if written[notes[index].pitch]}
        stays = first > 0 and moves[first] in _STAYS
        if stays and keys and not onsets.ornament_quarters[state]:
            wait = notes[first].onset_seconds - notes[first - 1].onset_seconds
            long_enough = WAIT_AFTER_SLIP_SECONDS if attempt.slips else WAIT_SECONDS
            total = float(onsets.keys[state])
            complete = len(attempt.keys) + attempt.slips >= total
            if wait > long_enough and complete and 2 * len(gesture) >= total:
                _begin(gesture, [bool(written[notes[index].pitch]) for index in gesture], moves)
                stays = False
        if not stays:
            attempt = _Attempt(set())
        attempt.keys |= keys
        attempt.slips += sum(is_wrong(moves[index]) for index in gesture)


def _gestures(notes: Sequence[HeardNote], moves: list[int]) -> list[list[int]]:
    """Indices of the notes that were struck together at one onset."""
    gestures: list[list[int]] = []
    for index, move in enumerate(moves):
        wait = notes[index].onset_seconds - notes[index - 1].onset_seconds if index else 0.0
        if not index or move not in _STAYS or wait > GESTURE_SECONDS:
            gestures.append([])
        gestures[-1].append(index)
    return gestures


def _begin(gesture: list[int], right: list[bool], moves: list[int]) -> None:
    """Take a gesture for the beginning of a pass."""
    moves[gesture[0]] = JUMP if right[0] else JUMP_WRONG
    for index, is_right in zip(gesture[1:], right[1:], strict=True):
        moves[index] = CHORD if is_right else ADDED
