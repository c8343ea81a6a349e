"""How a path through the score takes a note, as small numbers that fit into arrays."""

from __future__ import annotations

from enum import Enum

from companion.listening.decoding.score_onsets import PADDING

MAX_STRIDE = PADDING
"""An advance goes over so many onsets at most."""

CHORD, ADDED, WRONG_IN_CHORD, ADVANCE = range(4)
ADVANCE_WRONG = ADVANCE + MAX_STRIDE
JUMP = ADVANCE_WRONG + MAX_STRIDE
WRITTEN_LEAP = JUMP + 1
JUMP_WRONG = WRITTEN_LEAP + 1
"""How a path took a note; an advance by ``stride`` onsets is ``ADVANCE + stride - 1``."""


class Taken(Enum):
    """How the likeliest path took a note."""

    RIGHT = "right"
    WRONG = "wrong"
    ADDED = "added"
    JUMP = "jump"
    WRITTEN_LEAP = "written leap"


def is_jump(move: int) -> bool:
    """Whether a path took a note by starting anew."""
    return move in (JUMP, JUMP_WRONG)


def is_written_leap(move: int) -> bool:
    """Whether a path took a note by going where the score leads: a repeat, an ending, D.C."""
    return move == WRITTEN_LEAP


def is_advance(move: int) -> bool:
    """Whether a path took a note by going on to a later onset."""
    return ADVANCE <= move < JUMP


def is_right(move: int) -> bool:
    """Whether a path took a note for a written one with that key."""
    return move in (CHORD, JUMP, WRITTEN_LEAP) or ADVANCE <= move < ADVANCE_WRONG


def is_wrong(move: int) -> bool:
    """Whether a path took a note for a slip of the finger."""
    return move in (WRONG_IN_CHORD, JUMP_WRONG) or ADVANCE_WRONG <= move < JUMP


def stride_of(move: int) -> int:
    """By how many onsets an advance moved on."""
    return (move - ADVANCE) % MAX_STRIDE + 1
