"""The takes of today as a list, newest first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QSize,
    Qt,
)
from PySide6.QtWidgets import QListView

Index = QModelIndex | QPersistentModelIndex
TAKE_ID_ROLE = int(Qt.ItemDataRole.UserRole)
_ROWS_IN_SIGHT = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeLine:
    """A take in two lines of text: ``head`` (when, where) and ``figures`` (how it went)."""

    take_id: str
    head: str
    figures: str


class TakeListModel(QAbstractListModel):
    """Takes as lines of text."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._lines: tuple[TakeLine, ...] = ()

    def show(self, lines: tuple[TakeLine, ...]) -> None:
        """Show these takes."""
        if lines == self._lines:
            return
        self.beginResetModel()
        self._lines = lines
        self.endResetModel()

    def line(self, row: int) -> TakeLine | None:
        """The take in a row."""
        return self._lines[row] if 0 <= row < len(self._lines) else None

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Number of takes."""
        return 0 if parent.isValid() else len(self._lines)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Text of a take, also for readers of the screen."""
        line = self.line(index.row()) if index.isValid() else None
        if line is None:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return f"{line.head}\n{line.figures}"
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{line.head}. {line.figures}."
        if role == TAKE_ID_ROLE:
            return line.take_id
        return None


class TakeListView(QListView):
    """The list: it asks for a few rows, takes the room that is left, and scrolls the rest."""

    def sizeHint(self) -> QSize:
        """Room for the newest takes."""
        rows = min(_ROWS_IN_SIGHT, self.model().rowCount()) if self.model() is not None else 0
        height = sum(self.sizeHintForRow(row) for row in range(rows)) + 2 * self.frameWidth()
        return QSize(super().sizeHint().width(), height)

    def minimumSizeHint(self) -> QSize:
        """As much as it asks for."""
        return QSize(super().minimumSizeHint().width(), self.sizeHint().height())
