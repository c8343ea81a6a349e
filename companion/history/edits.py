"""Edits of the history as values that know their inverse.

An edit says what was and what shall be; whoever owns the data applies it. So one stack
(:mod:`companion.history.undo`) serves the takes, the shelf and the section map of the window, and
an edit can be undone however much later.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from companion.score.model import Hand
from companion.score.sections.section_map import SectionMap


@dataclass(frozen=True, slots=True)
class DeleteTakes:
    """Throw takes away; they stay in the bin until it is emptied."""

    take_ids: tuple[str, ...]

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return "Delete take" if len(self.take_ids) == 1 else f"Delete {len(self.take_ids)} takes"

    def inverse(self) -> RestoreTakes:
        """Return the edit that undoes this one."""
        return RestoreTakes(self.take_ids)


@dataclass(frozen=True, slots=True)
class RestoreTakes:
    """Fetch takes back from the bin."""

    take_ids: tuple[str, ...]

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return "Restore take" if len(self.take_ids) == 1 else f"Restore {len(self.take_ids)} takes"

    def inverse(self) -> DeleteTakes:
        """Return the edit that undoes this one."""
        return DeleteTakes(self.take_ids)


@dataclass(frozen=True, slots=True)
class RenameTake:
    """Give a take a name."""

    take_id: str
    before: str
    after: str

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return "Rename take"

    def inverse(self) -> RenameTake:
        """Return the edit that undoes this one."""
        return RenameTake(self.take_id, before=self.after, after=self.before)


@dataclass(frozen=True, slots=True)
class AnnotateTake:
    """Write a remark on a take."""

    take_id: str
    before: str
    after: str

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return "Write remark"

    def inverse(self) -> AnnotateTake:
        """Return the edit that undoes this one."""
        return AnnotateTake(self.take_id, before=self.after, after=self.before)


@dataclass(frozen=True, slots=True)
class MarkMemory:
    """Note takes as played from memory or, with ``from_memory`` False, with the score.

    Only of takes that were noted otherwise, so that undoing it leaves the others alone.
    """

    take_ids: tuple[str, ...]
    from_memory: bool

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return "Take played from memory" if self.from_memory else "Take played with the score"

    def inverse(self) -> MarkMemory:
        """Return the edit that undoes this one."""
        return replace(self, from_memory=not self.from_memory)


@dataclass(frozen=True, slots=True)
class MoveTake:
    """File a take with another piece, or with none."""

    take_id: str
    before_piece_id: str | None
    after_piece_id: str | None

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return "Move take"

    def inverse(self) -> MoveTake:
        """Return the edit that undoes this one."""
        return MoveTake(
            self.take_id, before_piece_id=self.after_piece_id, after_piece_id=self.before_piece_id
        )


@dataclass(frozen=True, slots=True)
class ChangeSectionMap:
    """Replace the section map of a piece; ``doing`` names the edit ("Split section")."""

    piece_id: str
    before: SectionMap
    after: SectionMap
    doing: str = "Change sections"

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return self.doing

    def inverse(self) -> ChangeSectionMap:
        """Return the edit that undoes this one."""
        return replace(self, before=self.after, after=self.before)


@dataclass(frozen=True, slots=True)
class ChangeDocument:
    """Replace one of the documents of a piece; ``doing`` names the edit ("Correct chord").

    ``before`` and ``after`` are the whole text, "" for none.
    """

    piece_id: str
    kind: str
    before: str
    after: str
    doing: str

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return self.doing

    def inverse(self) -> ChangeDocument:
        """Return the edit that undoes this one."""
        return replace(self, before=self.after, after=self.before)


@dataclass(frozen=True, slots=True)
class SetPerformanceDate:
    """Set or clear the date on which a piece must be played."""

    piece_id: str
    before: date | None
    after: date | None

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return "Set date of performance"

    def inverse(self) -> SetPerformanceDate:
        """Return the edit that undoes this one."""
        return replace(self, before=self.after, after=self.before)


@dataclass(frozen=True, slots=True)
class AssignHands:
    """Say which hand plays which notes; ``before`` and ``after`` hold the whole choice by note id.

    A note that is in neither belongs to the hand that its staff and voice say.
    """

    piece_id: str
    before: Mapping[str, Hand]
    after: Mapping[str, Hand]

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return "Choose hands"

    def inverse(self) -> AssignHands:
        """Return the edit that undoes this one."""
        return replace(self, before=self.after, after=self.before)


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeOffShelf:
    """Take a piece off the shelf; its takes and sections are kept."""

    piece_id: str

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return "Remove from the shelf"

    def inverse(self) -> PutBackOnShelf:
        """Return the edit that undoes this one."""
        return PutBackOnShelf(piece_id=self.piece_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class PutBackOnShelf:
    """Put a piece back on the shelf from which it was taken."""

    piece_id: str

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return "Put back on the shelf"

    def inverse(self) -> TakeOffShelf:
        """Return the edit that undoes this one."""
        return TakeOffShelf(piece_id=self.piece_id)


Edit = (
    AssignHands
    | TakeOffShelf
    | PutBackOnShelf
    | DeleteTakes
    | RestoreTakes
    | RenameTake
    | AnnotateTake
    | MarkMemory
    | MoveTake
    | ChangeSectionMap
    | ChangeDocument
    | SetPerformanceDate
)


@dataclass(frozen=True, slots=True)
class SeveralEdits:
    """Edits that are done and undone together, for instance moving a selection of takes."""

    edits: tuple[Edit, ...]
    doing: str

    @property
    def text(self) -> str:
        """What the edit does, for the menu."""
        return self.doing

    def inverse(self) -> SeveralEdits:
        """Return the edit that undoes this one, in reversed order."""
        return SeveralEdits(tuple(edit.inverse() for edit in reversed(self.edits)), self.doing)


AnyEdit = Edit | SeveralEdits
