"""Sections by days: one row per section, one column per practice day, newest first."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from companion.desktop import tips, typography
from companion.desktop.dates import weekday_and_day
from companion.desktop.days import wording
from companion.desktop.days.content import DaysContent, SectionDays

AnyIndex = QModelIndex | QPersistentModelIndex

MOST_DAYS = 10
_FIXED = 3  # columns before the days: section, measures, takes


class SectionTableModel(QAbstractTableModel):
    """Median accuracy and tempo of each section on each of the latest days."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._sections: tuple[SectionDays, ...] = ()
        self._days: tuple[date, ...] = ()

    def show_content(self, content: DaysContent) -> None:
        """Replace everything."""
        self.beginResetModel()
        self._sections = content.sections
        self._days = content.days[: -MOST_DAYS - 1 : -1]
        self.endResetModel()

    def section(self, number: int) -> SectionDays:
        """The section in a row."""
        return self._sections[number]

    def number_of(self, section_id: str | None) -> int | None:
        """The row of a section."""
        for number, section in enumerate(self._sections):
            if section.section_id == section_id:
                return number
        return None

    def rowCount(self, parent: AnyIndex | None = None) -> int:
        """Number of sections."""
        return 0 if parent is not None and parent.isValid() else len(self._sections)

    def columnCount(self, parent: AnyIndex | None = None) -> int:
        """Section, takes and the days."""
        return 0 if parent is not None and parent.isValid() else _FIXED + len(self._days)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Titles: days with the day of the week."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            if section < _FIXED:
                return (wording.tr("Section"), wording.tr("Measures"), wording.tr("Takes"))[section]
            day = self._days[section - _FIXED]
            return weekday_and_day(day)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(section)
        if role == Qt.ItemDataRole.ToolTipRole and section >= _FIXED:
            return wording.tr("Median accuracy · median running tempo, in beats a minute")
        return None

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return text, alignment and the whole sentence of a cell."""
        if not index.isValid():
            return None
        section, column = self._sections[index.row()], index.column()
        if role == Qt.ItemDataRole.DisplayRole:
            return self._text(section, column)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(column)
        if role == Qt.ItemDataRole.FontRole and column == 0:
            return typography.serif(typography.SERIF_POINTS)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return self._sentence(section, column)
        if role == Qt.ItemDataRole.ToolTipRole:
            return tips.in_lines(self._sentence(section, column))
        return None

    def _text(self, section: SectionDays, column: int) -> str:
        if column == 0:
            return "\u2003" * section.level + section.name
        if column == 1:
            return section.span
        if column == 2:
            return str(section.summary.take_count)
        figures = section.day(self._days[column - _FIXED])
        if figures is None:
            return ""
        tempo = figures.median_quarters_per_minute
        beats = section.beats_per_minute(tempo) if tempo is not None else None
        return f"{wording.percent(figures.median_accuracy)} · {wording.tempo(beats)}"

    def _sentence(self, section: SectionDays, column: int) -> str:
        if column < _FIXED:
            return self._text(section, column)
        figures = section.day(self._days[column - _FIXED])
        if figures is None:
            return wording.tr("not played on this day")
        tempo = figures.median_quarters_per_minute
        beats = section.beats_per_minute(tempo) if tempo is not None else None
        return wording.day_sentence(figures, beats, section.beat_name)


def _alignment(column: int) -> Qt.AlignmentFlag:
    side = Qt.AlignmentFlag.AlignLeft if column <= 1 else Qt.AlignmentFlag.AlignRight
    return side | Qt.AlignmentFlag.AlignVCenter
