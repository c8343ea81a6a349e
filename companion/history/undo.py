"""What was done to the history, to be undone and redone in order."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from companion.history.edits import AnyEdit


class UndoStack:
    """What was done, to be undone and redone in order.

    Parameters
    ----------
    apply
        Carries an edit out. When it raises, the stack stays as it was.
    """

    def __init__(self, apply: Callable[[AnyEdit], None]) -> None:
        self._apply = apply
        self._done: list[AnyEdit] = []
        self._undone: list[AnyEdit] = []

    @property
    def undo_text(self) -> str | None:
        """What :meth:`undo` would undo, None for nothing."""
        return self._done[-1].text if self._done else None

    @property
    def redo_text(self) -> str | None:
        """What :meth:`redo` would do again, None for nothing."""
        return self._undone[-1].text if self._undone else None

    def do(self, edit: AnyEdit) -> None:
        """Carry out an edit; what had been undone cannot be redone any more."""
        self._apply(edit)
        self._done.append(edit)
        self._undone.clear()

    def undo(self) -> AnyEdit | None:
        """Undo the last edit and return it; None when there is none."""
        if not self._done:
            return None
        self._apply(self._done[-1].inverse())
        self._undone.append(self._done.pop())
        return self._undone[-1]

    def redo(self) -> AnyEdit | None:
        """Do the last undone edit again and return it; None when there is none."""
        if not self._undone:
            return None
        self._apply(self._undone[-1])
        self._done.append(self._undone.pop())
        return self._done[-1]
