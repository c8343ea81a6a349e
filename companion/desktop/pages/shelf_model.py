"""The pieces on the shelf as a table; the date of the performance can be written in it."""

from __future__ import annotations

from datetime import date
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QDate,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    Signal,
)

from companion.desktop.dates import day_with_year
from companion.desktop.days_left import days_left_text
from companion.desktop.section_map.wording import days_ago
from companion.history.model import Piece

Index = QModelIndex | QPersistentModelIndex
TITLE, COMPOSER, DATE, LAST = range(4)


class ShelfModel(QAbstractTableModel):
    """Rows are pieces.

    Signals
    -------
    date_written(str, object)
        Piece id and the new day, None to clear it.
    """

    date_written = Signal(str, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pieces: tuple[Piece, ...] = ()
        self._today = date.min

    def show(self, pieces: tuple[Piece, ...], today: date) -> None:
        """Show these pieces."""
        self.beginResetModel()
        self._pieces, self._today = pieces, today
        self.endResetModel()

    def piece(self, row: int) -> Piece | None:
        """The piece in a row."""
        return self._pieces[row] if 0 <= row < len(self._pieces) else None

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Number of pieces."""
        return 0 if parent.isValid() else len(self._pieces)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Title, composer, date, last opened."""
        return 0 if parent.isValid() else 4

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Names of the columns."""
        if role != Qt.ItemDataRole.DisplayRole or orientation is not Qt.Orientation.Horizontal:
            return None
        names = (
            self.tr("Title"),
            self.tr("Composer"),
            self.tr("Performance"),
            self.tr("Last on the stand"),
        )
        return names[section]

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Only the date can be written."""
        flags = super().flags(index)
        if index.isValid() and index.column() == DATE:
            flags |= Qt.ItemFlag.ItemIsEditable
        return flags

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Text of a cell; the date itself for the editor."""
        piece = self.piece(index.row()) if index.isValid() else None
        if piece is None:
            return None
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return self._text(piece, index.column())
        if role == Qt.ItemDataRole.EditRole and index.column() == DATE:
            day = piece.performance_date or self._today
            return QDate(day.year, day.month, day.day)
        if role == Qt.ItemDataRole.ToolTipRole and index.column() == DATE:
            return self.tr("Double-click, or press F2, to write the day of the performance")
        return None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Ask for another date."""
        piece = self.piece(index.row())
        if role != Qt.ItemDataRole.EditRole or piece is None or not isinstance(value, QDate):
            return False
        self.date_written.emit(piece.piece_id, date(value.year(), value.month(), value.day()))
        return True

    def _text(self, piece: Piece, column: int) -> str:
        if column == TITLE:
            return f"{piece.title} ({piece.part})" if piece.part else piece.title
        if column == COMPOSER:
            return piece.composer
        if column == DATE:
            return self._date_text(piece)
        if piece.opened_at is None:
            return ""
        return days_ago(piece.opened_at.astimezone().date(), self._today)

    def _date_text(self, piece: Piece) -> str:
        if piece.performance_date is None:
            return self.tr("no date")
        day = piece.performance_date
        left = (day - self._today).days
        return f"{day_with_year(day)}, {days_left_text(left)}"
