"""The list of takes: an item model over plain rows."""

from __future__ import annotations

from enum import IntEnum

from PySide6.QtCore import (
    QAbstractTableModel,
    QLocale,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    QTime,
    Signal,
)

from companion.desktop import tips
from companion.desktop.dates import weekday_and_day
from companion.desktop.days import wording
from companion.desktop.days.content import TakeRow
from companion.history.model import TakeSource
from companion.listening.definitions import definition

AnyIndex = QModelIndex | QPersistentModelIndex


class Column(IntEnum):
    """Columns of the list."""

    WHEN = 0
    MEASURES = 1
    HANDS = 2
    NOTES = 3
    ACCURACY = 4
    TEMPO = 5
    STOPS = 6
    NAME = 7
    REMARK = 8


_TITLES = {
    Column.WHEN: "When",
    Column.MEASURES: "Measures",
    Column.HANDS: "Hands",
    Column.NOTES: "Notes",
    Column.ACCURACY: "Accuracy",
    Column.TEMPO: "Tempo",
    Column.STOPS: "Stops",
    Column.NAME: "Name",
    Column.REMARK: "Remark",
}
_MEANINGS = {
    Column.NOTES: "expected",
    Column.ACCURACY: "accuracy",
    Column.TEMPO: "running_tempo_quarters_per_minute",
    Column.STOPS: "stops",
}
_NUMBERS = {Column.NOTES, Column.ACCURACY, Column.TEMPO, Column.STOPS}


class TakeTableModel(QAbstractTableModel):
    """Takes as rows; name and remark can be written.

    Signals
    -------
    name_written(str, str), remark_written(str, str)
        Take id and the new text; the model itself changes when new rows are shown.
    """

    name_written = Signal(str, str)
    remark_written = Signal(str, str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[TakeRow, ...] = ()

    def show_rows(self, rows: tuple[TakeRow, ...]) -> None:
        """Replace all rows."""
        self.beginResetModel()
        self._rows = rows
        self.endResetModel()

    def row(self, number: int) -> TakeRow:
        """The take in a row."""
        return self._rows[number]

    def number_of(self, take_id: str) -> int | None:
        """The row of a take."""
        for number, row in enumerate(self._rows):
            if row.take.take_id == take_id:
                return number
        return None

    def is_from_memory(self, take_id: str) -> bool:
        """Whether a take is noted as played from memory."""
        number = self.number_of(take_id)
        return number is not None and self._rows[number].take.from_memory

    def rowCount(self, parent: AnyIndex | None = None) -> int:
        """Number of takes."""
        return 0 if parent is not None and parent.isValid() else len(self._rows)

    def columnCount(self, parent: AnyIndex | None = None) -> int:
        """Number of columns."""
        return 0 if parent is not None and parent.isValid() else len(Column)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Titles, with the definition of a measure as tooltip."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        column = Column(section)
        if role == Qt.ItemDataRole.DisplayRole:
            return wording.tr(_TITLES[column])
        if role == Qt.ItemDataRole.ToolTipRole and column in _MEANINGS:
            return tips.in_lines(definition(_MEANINGS[column]).sentence)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(column)
        return None

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return text, alignment and tooltip of a cell."""
        if not index.isValid():
            return None
        row, column = self._rows[index.row()], Column(index.column())
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.EditRole):
            return _text(row, column)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(column)
        if role == Qt.ItemDataRole.ToolTipRole and column is Column.WHEN:
            return _origin(row)
        return None

    def flags(self, index: AnyIndex) -> Qt.ItemFlag:
        """Name and remark can be edited."""
        flags = super().flags(index)
        if index.isValid() and Column(index.column()) in (Column.NAME, Column.REMARK):
            flags |= Qt.ItemFlag.ItemIsEditable
        return flags

    def setData(self, index: AnyIndex, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Pass a written text on."""
        if role != Qt.ItemDataRole.EditRole or not index.isValid():
            return False
        take, text = self._rows[index.row()].take, str(value).strip()
        column = Column(index.column())
        if column is Column.NAME and text != take.name:
            self.name_written.emit(take.take_id, text)
        elif column is Column.REMARK and text != take.remark:
            self.remark_written.emit(take.take_id, text)
        else:
            return False
        return True


def _alignment(column: Column) -> Qt.AlignmentFlag:
    side = Qt.AlignmentFlag.AlignRight if column in _NUMBERS else Qt.AlignmentFlag.AlignLeft
    return side | Qt.AlignmentFlag.AlignVCenter


def _text(row: TakeRow, column: Column) -> str:
    take = row.take
    worked_out = row.accuracy is not None or row.expected > 0
    match column:
        case Column.WHEN:
            start = row.local_start
            clock = QLocale().toString(
                QTime(start.hour, start.minute), QLocale.FormatType.ShortFormat
            )
            return f"{weekday_and_day(row.day)}, {clock}"
        case Column.MEASURES:
            return row.measures
        case Column.HANDS:
            return wording.hands(row.hands, from_memory=take.from_memory)
        case Column.NOTES:
            return str(take.note_count)
        case Column.ACCURACY:
            return wording.percent(row.accuracy)
        case Column.TEMPO:
            return wording.tempo(row.beats_per_minute)
        case Column.STOPS:
            return str(row.stops) if worked_out else "–"
        case Column.NAME:
            return take.name
        case Column.REMARK:
            return take.remark


def _origin(row: TakeRow) -> str:
    sources = {
        TakeSource.PIANO: wording.tr("played on the piano"),
        TakeSource.SCREEN: wording.tr("played on the on-screen keyboard"),
        TakeSource.FILE: wording.tr("from a MIDI file"),
        TakeSource.DEMO: wording.tr("demo data"),
    }
    parts = [sources[row.take.source]]
    if row.take.instrument:
        parts.append(row.take.instrument)
    if row.take.recovered:
        parts.append(wording.tr("saved at the next start, because the program had ended before"))
    return ", ".join(parts)
