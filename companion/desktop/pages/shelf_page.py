"""The shelf: all pieces, the one opened last on top."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import QModelIndex, QSize, Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QPushButton,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, typography
from companion.desktop.pages.shelf_model import DATE, TITLE, ShelfModel
from companion.desktop.pages.unfiled import UnfiledTakes
from companion.history.model import Piece


class ShelfPage(QWidget):
    """A table of pieces and what can be done with them.

    Signals
    -------
    piece_chosen(str)
        Piece id: put it on the stand.
    removal_asked(str)
        Piece id: take it off the shelf.
    date_written(str, object)
        Piece id and the day of the performance, None for no day.
    open_asked()
        Open a new score.
    """

    piece_chosen = Signal(str)
    removal_asked = Signal(str)
    date_written = Signal(str, object)
    open_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = ShelfModel(self)
        self._model.date_written.connect(self.date_written)
        self._table = QTableView()
        self._table.setModel(self._model)
        self._table.setAccessibleName(self.tr("Pieces on the shelf"))
        self._table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self._table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self._table.setShowGrid(False)
        self._table.verticalHeader().hide()
        self._table.verticalHeader().setDefaultSectionSize(38)
        self._table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        self._table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self._table.setFont(typography.serif())
        self._table.horizontalHeader().setHighlightSections(False)
        self._table.horizontalHeader().setFont(typography.sans())
        self._table.setTabKeyNavigation(False)
        self._table.activated.connect(self._activated)
        self._empty = forms.heading(
            self.tr("The shelf is empty. Open a score, or drop a score file on this window."),
            typography.SERIF_POINTS,
        )
        self._stand = self._button(
            self.tr("Put on the &stand"), self.tr("Open the selected piece"), self._stand_selected
        )
        self._no_date = self._button(
            self.tr("No &date"), self.tr("Clear the date of the performance"), self._clear_date
        )
        self._remove = self._button(
            self.tr("&Remove"),
            self.tr("Take the piece off the shelf; its takes and sections are kept; can be undone"),
            self._remove_selected,
        )
        new = self._button(
            self.tr("&Open a score…"), self.tr("Choose a score file"), self.open_asked.emit
        )
        self.unfiled = UnfiledTakes()
        buttons = QHBoxLayout()
        for button in (self._stand, self._no_date, self._remove):
            buttons.addWidget(button)
        buttons.addStretch(1)
        top = QHBoxLayout()
        top.addWidget(forms.heading(self.tr("Shelf"), typography.TITLE_POINTS), 1)
        top.addWidget(new)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 18, 24, 18)
        column.setSpacing(12)
        column.addLayout(top)
        column.addWidget(self._empty)
        column.addWidget(self._table, 1)
        column.addLayout(buttons)
        column.addWidget(self.unfiled)
        column.addStretch(0)
        self._table.selectionModel().selectionChanged.connect(self._enable)
        self.show_pieces((), date.min)

    def sizeHint(self) -> QSize:
        """Room for a table."""
        return QSize(900, 500)

    def show_pieces(self, pieces: tuple[Piece, ...], today: date) -> None:
        """Show the shelf."""
        self._model.show(pieces, today)
        self._table.setVisible(bool(pieces))
        self._empty.setVisible(not pieces)
        if pieces:
            self._table.selectRow(0)
        self._enable()

    @property
    def selected(self) -> Piece | None:
        """The selected piece."""
        return self._model.piece(self._table.currentIndex().row())

    def _button(self, text: str, tip: str, act: object) -> QPushButton:
        button = QPushButton(text)
        button.setToolTip(tip)
        button.clicked.connect(lambda: act())  # type: ignore[operator]
        return button

    def _enable(self) -> None:
        piece = self.selected
        self._stand.setEnabled(piece is not None)
        self._remove.setEnabled(piece is not None)
        self._no_date.setEnabled(piece is not None and piece.performance_date is not None)

    def _activated(self, index: QModelIndex) -> None:
        if index.column() == DATE:
            return
        piece = self._model.piece(index.row())
        if piece is not None:
            self.piece_chosen.emit(piece.piece_id)

    def _stand_selected(self) -> None:
        self._activated(self._model.index(self._table.currentIndex().row(), TITLE))

    def _remove_selected(self) -> None:
        if self.selected is not None:
            self.removal_asked.emit(self.selected.piece_id)

    def _clear_date(self) -> None:
        if self.selected is not None:
            self.date_written.emit(self.selected.piece_id, None)
