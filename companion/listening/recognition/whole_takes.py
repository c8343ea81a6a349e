"""Which piece a take that is over was of, as a whole and stretch by stretch."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from companion.listening.recognition.recognise import PieceGuess, Recogniser

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.listening.notes import HeardNote
    from companion.listening.recognition.piece_index import ShelfIndex

NOTES_BEFORE_NAMED = 16
"""So many unknown notes before a piece was named are counted with it."""


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
