"""How much of a stretch of the score a take covered, and how its edges went."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from companion.listening.measuring.played import PlayedTake, State
from companion.listening.measuring.score_index import Flags, Ints, ScoreIndex
from companion.listening.notes import Hands, Passage

LEFT_OUT_NOTES = 2
LEFT_OUT_SHARE = 0.05
"""What a complete playing may leave uncovered: two notes, or one in twenty."""


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """Written notes from ``low`` to ``high`` (not included), in some passages of a take.

    Parameters
    ----------
    section_id
        Of the section that this is, empty for the whole take.
    passages
        Those that count, all played with ``hands`` (which is BOTH for a mixture).
    of_passages
        Per passage of the take, by its index: whether it counts.
    """

    section_id: str
    low: int
    high: int
    passages: tuple[Passage, ...]
    hands: Hands
    of_passages: Flags

    def inside(self, note: Ints, passage: Ints) -> Flags:
        """Which of some notes, each with its passage, belong to the stretch."""
        chosen: Flags = (note >= self.low) & (note < self.high) & self.of_passages[passage]
        return chosen


def stretch_of(
    section_id: str,
    limits: tuple[int, int],
    passages: Sequence[Passage],
    hands: Hands,
    take: PlayedTake,
) -> Stretch:
    """Make a stretch; ``limits`` are its first written note and the first one behind it."""
    of_passages = np.zeros(take.passage_size, np.bool_)
    of_passages[[passage.index for passage in passages]] = True
    return Stretch(section_id, *limits, tuple(passages), hands, of_passages)


@dataclass(frozen=True, slots=True)
class Coverage:
    """Share of the written notes that were passed over, and whether that is the whole stretch."""

    share: float
    complete: bool


def coverage(index: ScoreIndex, take: PlayedTake, stretch: Stretch) -> Coverage:
    """How much of a stretch was passed over.

    Endings that lead back need not be played. Where two endings begin alike nobody can say which
    of the two a note was: either will do.
    """
    part = slice(stretch.low, stretch.high)
    expected = index.note_expected[part]
    if stretch.hands is not Hands.BOTH:
        expected = expected & (index.note_right_hand[part] == (stretch.hands is Hands.RIGHT))
    if (expected & ~index.note_optional[part]).any():
        expected = expected & ~index.note_optional[part]
    passed = np.zeros(len(index.note_expected), np.bool_)
    for passage in stretch.passages:
        low, high = take.passage_low[passage.index], take.passage_high[passage.index]
        if passage.hands is stretch.hands:
            passed[low:high] = True
        else:  # the whole take, played with different choices of hands
            passed[low:high] |= index.note_right_hand[low:high] == (passage.hands is Hands.RIGHT)
    twin = index.note_twin[part]
    passed = passed[part] | ((twin >= 0) & passed[twin])
    wanted = np.flatnonzero(expected)
    if not len(wanted):
        return Coverage(0.0, complete=False)
    covered = passed[wanted]
    left_out = len(wanted) - int(np.count_nonzero(covered))
    allowed = max(LEFT_OUT_NOTES, LEFT_OUT_SHARE * len(wanted))
    return Coverage(
        share=1.0 - left_out / len(wanted),
        complete=bool(covered[0] and covered[-1]) and left_out <= allowed,
    )


def edge_errors(index: ScoreIndex, take: PlayedTake, stretch: Stretch, state_inside: Flags) -> int:
    """Wrong or missed top and bottom notes at the first and the last onset of a stretch."""
    notes = index.score.notes
    span = slice(stretch.low, stretch.high)
    wanted = index.note_expected[span] & ~index.note_grace[span]
    if stretch.hands is not Hands.BOTH:
        wanted &= index.note_right_hand[span] == (stretch.hands is Hands.RIGHT)
    part = stretch.low + np.flatnonzero(wanted)
    if not len(part):
        return 0
    edges: set[int] = set()
    for onset in (index.note_onset[part[0]], index.note_onset[part[-1]]):
        together = part[index.note_onset[part] == onset].tolist()
        edges.add(max(together, key=lambda note: notes[note].pitch))
        edges.add(min(together, key=lambda note: notes[note].pitch))
    failed = take.state_note[state_inside & (take.state != State.RIGHT)]
    return sum(note in edges for note in failed.tolist())
