"""The turns of today and the days to come as tables."""

from __future__ import annotations

from enum import IntEnum

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor, QFont

from companion.desktop import tips, typography
from companion.desktop.lines_model import LinesModel
from companion.desktop.palette import Palette
from companion.desktop.today.content import DayLine, TurnLine
from companion.desktop.today.wording import tr

AnyIndex = QModelIndex | QPersistentModelIndex

_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
_CENTRE = int(Qt.AlignmentFlag.AlignCenter)


class Column(IntEnum):
    """What stands beside each other."""

    STATE = 0
    WHAT = 1
    WHERE = 2
    TEMPO = 3
    MINUTES = 4
    WHY = 5


class TurnTableModel(QAbstractTableModel):
    """The turns in order: done ones pale with a tick, the next one pointed at."""

    def __init__(self, palette: Palette, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._palette = palette
        self._lines: tuple[TurnLine, ...] = ()
        self._next_id: str | None = None

    def show_lines(self, lines: tuple[TurnLine, ...], next_id: str | None) -> None:
        """Replace everything."""
        self.beginResetModel()
        self._lines, self._next_id = lines, next_id
        self.endResetModel()

    def set_palette(self, palette: Palette) -> None:
        """Draw with another palette."""
        self._palette = palette
        self.layoutChanged.emit()

    def line(self, row: int) -> TurnLine | None:
        """The turn in a row."""
        return self._lines[row] if 0 <= row < len(self._lines) else None

    def row_of(self, turn_id: str | None) -> int | None:
        """The row of a turn."""
        for row, line in enumerate(self._lines):
            if line.turn_id == turn_id:
                return row
        return None

    def rowCount(self, parent: AnyIndex | None = None) -> int:
        """Number of turns."""
        return 0 if parent is not None and parent.isValid() else len(self._lines)

    def columnCount(self, parent: AnyIndex | None = None) -> int:
        """Number of columns."""
        return 0 if parent is not None and parent.isValid() else len(Column)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Titles."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return ("", tr("What"), tr("Where"), tr("Set to"), tr("Minutes"), tr("Why"))[section]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _RIGHT if section == Column.MINUTES else _LEFT
        return None

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Text, tip, ink and type of a cell."""
        line = self.line(index.row())
        if line is None:
            return None
        column = Column(index.column())
        if role == Qt.ItemDataRole.DisplayRole:
            return self._text(line, column)
        if role == Qt.ItemDataRole.ToolTipRole:
            late = tr("It was played before in another way, so it can be cold again tomorrow.")
            return tips.in_lines(late if line.too_late else line.why)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return self._spoken(line) if column is Column.STATE else self._text(line, column)
        if role == Qt.ItemDataRole.ForegroundRole and (line.done or line.too_late):
            return QColor(self._palette.graphite)
        if role == Qt.ItemDataRole.FontRole:
            return self._font(line, column)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            if column is Column.MINUTES:
                return _RIGHT
            if column is Column.STATE:
                return _CENTRE
        return None

    def _text(self, line: TurnLine, column: Column) -> str:
        if column is Column.STATE:
            if line.done:
                return "✓"
            if line.too_late:
                return "–"
            return "▸" if line.turn_id == self._next_id else ("·" if line.begun else "")
        return (
            "",
            line.what,
            line.where,
            line.tempo,
            str(line.minutes),
            line.why,
        )[column]

    def _spoken(self, line: TurnLine) -> str:
        if line.done:
            return tr("done")
        if line.too_late:
            return tr("too late today")
        if line.turn_id == self._next_id:
            return tr("next")
        return tr("begun") if line.begun else tr("to do")

    def _font(self, line: TurnLine, column: Column) -> QFont:
        if column in (Column.WHAT, Column.WHERE):
            return typography.serif()
        font = typography.sans()
        if column is Column.STATE:
            font.setBold(line.turn_id == self._next_id)
        return font


def days_model(parent: QObject) -> LinesModel:
    """The table of the days to the performance."""
    titles = (tr("Day"), tr("What it is for"), tr("Minutes"))
    return LinesModel(titles, parent=parent, right_columns=frozenset({2}))


def day_rows(days: tuple[DayLine, ...]) -> tuple[tuple[str, ...], ...]:
    """Cells of the table of the days."""
    return tuple((day.day, day.what, day.minutes) for day in days)
