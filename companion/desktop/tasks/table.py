"""The list of tasks as a table: one row per task."""

from __future__ import annotations

from datetime import date
from enum import IntEnum

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from companion.desktop import tips, typography
from companion.desktop.tasks import wording
from companion.desktop.tasks.content import TaskLine

AnyIndex = QModelIndex | QPersistentModelIndex


class Column(IntEnum):
    """What stands beside each other."""

    TASK = 0
    MEASURES = 1
    HAND = 2
    SECTION = 3
    WHY = 4
    ACCURACY = 5
    TEMPO = 6
    LAST_PLAYED = 7
    TAKES = 8
    STATE = 9


class TaskTableModel(QAbstractTableModel):
    """Tasks in the order in which they are given."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._lines: tuple[TaskLine, ...] = ()
        self._texts: list[tuple[str, ...]] = []
        self._fonts = [typography.serif(typography.SERIF_POINTS, italic=i) for i in (False, True)]
        self._today: date | None = None

    def show_lines(self, lines: tuple[TaskLine, ...], today: date | None) -> None:
        """Replace everything."""
        self.beginResetModel()
        self._lines, self._today = lines, today
        self._texts = [_texts(line, today) for line in lines]
        self.endResetModel()

    def line(self, row: int) -> TaskLine | None:
        """The task in a row."""
        return self._lines[row] if 0 <= row < len(self._lines) else None

    def row_of(self, task_id: str | None) -> int | None:
        """The row of a task."""
        for row, line in enumerate(self._lines):
            if line.task_id == task_id:
                return row
        return None

    def rowCount(self, parent: AnyIndex | None = None) -> int:
        """Number of tasks."""
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
            return _titles()[section]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(Column(section))
        if role == Qt.ItemDataRole.ToolTipRole and section in (Column.ACCURACY, Column.TEMPO):
            return wording.tr("The median of the last day, in beats a minute for the tempo")
        return None

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return text, font, alignment and the whole sentence of a cell."""
        line = self.line(index.row()) if index.isValid() else None
        if line is None:
            return None
        column = Column(index.column())
        if role == Qt.ItemDataRole.DisplayRole:
            return self._texts[index.row()][column]
        if role == Qt.ItemDataRole.FontRole and column is Column.TASK:
            return self._fonts[not line.kept]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(column)
        if role == Qt.ItemDataRole.ToolTipRole:
            return tips.in_lines(wording.task_sentence(line, self._today))
        if role == Qt.ItemDataRole.AccessibleTextRole and column is Column.TASK:
            return wording.task_sentence(line, self._today)
        return None


def _texts(line: TaskLine, today: date | None) -> tuple[str, ...]:
    """What stands in the columns of a task."""
    return (
        line.title,
        line.measures,
        line.hand,
        line.section,
        wording.why_text(line),
        wording.accuracy_text(line.days),
        wording.tempo_text(line.days),
        wording.last_played_text(line.days, today),
        wording.takes_text(line.days),
        wording.state_text(line),
    )


def _titles() -> tuple[str, ...]:
    tr = wording.tr
    return (
        tr("Task"),
        tr("Measures"),
        tr("Hand"),
        tr("Section"),
        tr("Why"),
        tr("Accuracy"),
        tr("Tempo"),
        tr("Last played"),
        tr("Takes"),
        tr("State"),
    )


def _alignment(column: Column) -> Qt.AlignmentFlag:
    numbers = (Column.ACCURACY, Column.TEMPO, Column.TAKES)
    side = Qt.AlignmentFlag.AlignRight if column in numbers else Qt.AlignmentFlag.AlignLeft
    return side | Qt.AlignmentFlag.AlignVCenter
