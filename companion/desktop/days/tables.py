"""The tables of the page as widgets: rows without a grid, as in a printed table."""

from __future__ import annotations

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QAbstractItemView, QTableView

from companion.desktop import typography

ROW_PIXELS = 24
_CELL_PADDING_PIXELS = 20
_VERY_HIGH = 10_000


def plain_table(name: str) -> QTableView:
    """A table of whole rows; ``name`` is read to those who cannot see it."""
    view = QTableView()
    view.setAccessibleName(name)
    view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    view.setShowGrid(False)
    view.setWordWrap(False)
    view.setAlternatingRowColors(False)
    view.setTabKeyNavigation(False)
    view.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
    view.verticalHeader().hide()
    view.verticalHeader().setDefaultSectionSize(ROW_PIXELS)
    view.horizontalHeader().setHighlightSections(False)
    return view


def wrap_lines(view: QTableView, column: int) -> None:
    """Give what is too long for a column a second line instead of cutting it off."""
    view.setWordWrap(True)
    metrics = QFontMetrics(typography.sans())
    room = QRect(0, 0, max(1, view.columnWidth(column) - _CELL_PADDING_PIXELS), _VERY_HIGH)
    wrapped = Qt.TextFlag.TextWordWrap
    for row in range(view.model().rowCount()):
        text = str(view.model().index(row, column).data() or "")
        height = metrics.boundingRect(room, wrapped, text).height()
        more = max(0, round(height / metrics.lineSpacing()) - 1)
        view.setRowHeight(row, ROW_PIXELS + more * metrics.lineSpacing())


def fit_rows(view: QTableView, most: int) -> None:
    """Make a table as high as its rows, up to ``most``; more of them scroll."""
    count = min(most, view.model().rowCount())
    rows = sum(view.rowHeight(row) for row in range(count)) or ROW_PIXELS
    header = view.horizontalHeader().sizeHint().height()
    bar = view.horizontalScrollBar().sizeHint().height()
    view.setFixedHeight(header + rows + 2 * view.frameWidth() + bar)
