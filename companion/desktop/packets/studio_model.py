"""The students side by side: an item model over plain rows."""

from __future__ import annotations

from collections.abc import Callable
from enum import IntEnum

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from companion.practice.packets.studio import StudioRow
from companion.practice.report.wording import short_day, stands

AnyIndex = QModelIndex | QPersistentModelIndex

SECTIONS_ROLE = int(Qt.ItemDataRole.UserRole)
SORT_ROLE = SECTIONS_ROLE + 1


class Column(IntEnum):
    """Columns of the table."""

    STUDENT = 0
    PIECE = 1
    SECTIONS = 2
    KNOWN = 3
    WEAKEST = 4
    LAST = 5
    MINUTES = 6
    READY = 7
    SENT = 8


def _known(row: StudioRow) -> str:
    more = f" (+{row.newly_known})" if row.newly_known > 0 else ""
    fewer = f" (\N{MINUS SIGN}{-row.newly_known})" if row.newly_known < 0 else ""
    return f"{row.known} of {len(row.sections)}{more}{fewer}"


def _weakest(row: StudioRow) -> str:
    return f"{row.weakest.name}: {stands(row.weakest)}" if row.weakest is not None else ""


def _last(row: StudioRow) -> str:
    return short_day(row.last_practice) if row.last_practice is not None else "not played"


def _ready(row: StudioRow) -> str:
    return row.report.readiness.sentence if row.report.readiness is not None else "–"


_TEXTS: dict[Column, Callable[[StudioRow], str]] = {
    Column.STUDENT: lambda row: row.student.name,
    Column.PIECE: lambda row: row.piece.title,
    Column.SECTIONS: lambda row: "; ".join(f"{one.name}: {stands(one)}" for one in row.sections),
    Column.KNOWN: _known,
    Column.WEAKEST: _weakest,
    Column.LAST: _last,
    Column.MINUTES: lambda row: f"{row.minutes_a_week:.0f}",
    Column.READY: _ready,
    Column.SENT: lambda row: short_day(row.report.to_day),
}
_ORDERS: dict[Column, Callable[[StudioRow], object]] = {
    Column.SECTIONS: lambda row: row.known_share,
    Column.KNOWN: lambda row: row.known_share,
    Column.LAST: lambda row: row.last_practice.isoformat() if row.last_practice else "",
    Column.MINUTES: lambda row: row.minutes_a_week,
    Column.SENT: lambda row: row.made_at.isoformat(),
}
_TITLES = {
    Column.STUDENT: "Student",
    Column.PIECE: "Piece",
    Column.SECTIONS: "Sections",
    Column.KNOWN: "Known",
    Column.WEAKEST: "Stands worst",
    Column.LAST: "Last practice",
    Column.MINUTES: "Minutes a week",
    Column.READY: "Readiness",
    Column.SENT: "As of",
}
_TIPS = {
    Column.SECTIONS: "The sections in order: grey is known, hatched lapsed, empty not known yet",
    Column.KNOWN: "Sections that are known; in brackets how many more or fewer than before",
    Column.WEAKEST: "The section that lapsed, or is least likely to come out clean",
    Column.MINUTES: "Minutes of playing a week over the last four weeks that were sent",
    Column.SENT: "The last day that the results tell of",
}


class StudioModel(QAbstractTableModel):
    """Students with their pieces as rows."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[StudioRow, ...] = ()

    def show_rows(self, rows: tuple[StudioRow, ...]) -> None:
        """Replace all rows."""
        self.beginResetModel()
        self._rows = rows
        self.endResetModel()

    def row_at(self, row: int) -> StudioRow:
        """The student and piece of a row."""
        return self._rows[row]

    def rowCount(self, parent: AnyIndex = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Number of students and pieces."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: AnyIndex = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Number of columns."""
        return 0 if parent.isValid() else len(Column)

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Text, order and sections of a cell."""
        if not index.isValid():
            return None
        row, column = self._rows[index.row()], Column(index.column())
        text = _TEXTS[column](row)
        if role == Qt.ItemDataRole.DisplayRole:
            return "" if column is Column.SECTIONS else text
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            return text
        if role == SORT_ROLE:
            order = _ORDERS.get(column)
            return text.casefold() if order is None else order(row)
        if role == SECTIONS_ROLE and column is Column.SECTIONS:
            return row
        return None

    def headerData(
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> object:
        """Titles of the columns, and what they mean."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return _TITLES[Column(section)]
        if role == Qt.ItemDataRole.ToolTipRole:
            return _TIPS.get(Column(section))
        return None
