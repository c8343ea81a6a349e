"""What the pencil can write on the score."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from companion.score.model import Position


class MarkKind(StrEnum):
    """The signs, each with its own shape."""

    RIGHT = "right"
    WRONG = "wrong"
    MISSED = "missed"
    ADDED = "added"
    STOP = "stop"
    HESITATION = "hesitation"
    RESTART = "restart"


ON_A_NOTE = frozenset({MarkKind.RIGHT, MarkKind.WRONG, MarkKind.MISSED})


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One sign.

    Parameters
    ----------
    kind
        Which sign.
    note_id
        The written note it belongs to: needed for right, wrong and missed; for the others the
        sign stands at this note when there is no position.
    position
        Where a sign between the notes stands.
    staff
        For an added note: the staff it is nearest to, counted from 1.
    label
        Name of the key that was played ("F#5"), written small beside wrong and added notes.
    """

    kind: MarkKind
    note_id: str = ""
    position: Position | None = None
    staff: int = 1
    label: str = ""

    @property
    def key(self) -> str:
        """What makes it one mark: writing it again replaces it. Also the seed of its hand."""
        if self.kind in ON_A_NOTE:
            return note_key(self.note_id)
        place = self.position
        where = f"{place.measure_index} {place.offset_quarters}" if place else self.note_id
        return f"{self.kind} {where} {self.staff} {self.label}"


def note_key(note_id: str) -> str:
    """Key of the mark on a note: there is at most one."""
    return f"note {note_id}"
