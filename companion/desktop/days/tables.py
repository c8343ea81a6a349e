"""The tables of the page as widgets: rows without a grid, as in a printed table."""

from __future__ import annotations

from PySide6.QtWidgets import QAbstractItemView, QTableView

ROW_PIXELS = 24


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


def fit_rows(view: QTableView, most: int) -> None:
    """Make a table as high as its rows, up to ``most``; more of them scroll."""
    rows = max(1, min(most, view.model().rowCount()))
    header = view.horizontalHeader().sizeHint().height()
    bar = view.horizontalScrollBar().sizeHint().height()
    view.setFixedHeight(header + rows * ROW_PIXELS + 2 * view.frameWidth() + bar)
