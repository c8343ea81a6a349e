"""The studio: all students whose results came in, side by side."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QSortFilterProxyModel, Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QDialogButtonBox,
    QHeaderView,
    QStackedWidget,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, typography
from companion.desktop.packets.section_strip import SectionStrip
from companion.desktop.packets.studio_model import SORT_ROLE, Column, StudioModel
from companion.desktop.palette import Palette
from companion.practice.packets.studio import StudioRow

_ROW_PIXELS = 34


class StudioDialog(QDialog):
    """A table that can be sorted; Enter or a double-click opens the report of a student.

    Signals
    -------
    opened(StudioRow)
        The report of this row is wanted.
    packet_asked()
        Results are to be taken in.
    print_asked()
        The table is to be printed.
    """

    opened = Signal(object)
    packet_asked = Signal()
    print_asked = Signal()

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(self.tr("Studio"))
        self.model = StudioModel(self)
        self._sorted = QSortFilterProxyModel(self)
        self._sorted.setSourceModel(self.model)
        self._sorted.setSortRole(SORT_ROLE)
        self._strip = SectionStrip(palette)
        self.table = self._table()
        empty = forms.heading(
            self.tr(
                "No results of a student have come in yet.\n\nExport a lesson (Piece → Export a "
                "lesson), give the file to your student, and open the file that comes back."
            ),
            typography.SERIF_POINTS,
        )
        empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._leaves = QStackedWidget()
        self._leaves.addWidget(empty)
        self._leaves.addWidget(self.table)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        role = QDialogButtonBox.ButtonRole.ActionRole
        self._open = buttons.addButton(self.tr("Open the &report"), role)
        self._print = buttons.addButton(self.tr("&Print…"), role)
        take_in = buttons.addButton(self.tr("&Take in results…"), role)
        buttons.rejected.connect(self.reject)
        self._open.clicked.connect(self._open_current)
        self._print.clicked.connect(self.print_asked)
        take_in.clicked.connect(self.packet_asked)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(12)
        column.addWidget(forms.heading(self.tr("Students side by side")))
        column.addWidget(self._leaves, 1)
        column.addWidget(buttons)
        self.resize(1180, 520)
        self.show_rows(())

    def show_rows(self, rows: tuple[StudioRow, ...]) -> None:
        """Show all students, in the order that is chosen."""
        self.model.show_rows(rows)
        self._leaves.setCurrentIndex(1 if rows else 0)
        for button in (self._open, self._print):
            button.setVisible(bool(rows))
        tells_readiness = any(row.report.readiness is not None for row in rows)
        self.table.setColumnHidden(Column.READY, not tells_readiness)
        if rows:
            self.table.selectRow(0)
            self.table.setFocus()

    @property
    def rows(self) -> tuple[StudioRow, ...]:
        """The rows in the order in which they are shown."""
        return tuple(
            self.model.row_at(self._sorted.mapToSource(self._sorted.index(number, 0)).row())
            for number in range(self._sorted.rowCount())
        )

    def _table(self) -> QTableView:
        table = QTableView()
        table.setModel(self._sorted)
        table.setAccessibleName(self.tr("Students"))
        table.setSortingEnabled(True)
        table.sortByColumn(Column.STUDENT, Qt.SortOrder.AscendingOrder)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setTabKeyNavigation(False)
        table.setShowGrid(False)
        table.verticalHeader().hide()
        table.verticalHeader().setDefaultSectionSize(_ROW_PIXELS)
        table.setItemDelegateForColumn(Column.SECTIONS, self._strip)
        header = table.horizontalHeader()
        header.setHighlightSections(False)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(Column.SECTIONS, QHeaderView.ResizeMode.Stretch)
        header.setMinimumSectionSize(60)
        table.activated.connect(self._activated)
        return table

    def _activated(self, index: QModelIndex) -> None:
        self.opened.emit(self.model.row_at(self._sorted.mapToSource(index).row()))

    def _open_current(self) -> None:
        index = self.table.currentIndex()
        if index.isValid():
            self._activated(index)
