"""A table of plain texts under titles, for what is only looked at."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtGui import QFont

from companion.desktop import tips, typography

AnyIndex = QModelIndex | QPersistentModelIndex
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)


class LinesModel(QAbstractTableModel):
    """Rows of text under titles.

    Parameters
    ----------
    tips_of_titles
        What the titles mean; none where they say it themselves.
    name_column
        The column of names, set in the serif family and never bold; None without one.
    right_columns
        Columns of figures, which stand at the right.
    """

    def __init__(
        self,
        titles: tuple[str, ...],
        tips_of_titles: tuple[str, ...] = (),
        parent: QObject | None = None,
        *,
        name_column: int | None = None,
        right_columns: frozenset[int] = frozenset(),
    ) -> None:
        super().__init__(parent)
        self._titles, self._tips = titles, tips_of_titles
        self._name_column, self._right_columns = name_column, right_columns
        self._rows: tuple[tuple[str, ...], ...] = ()
        self._bold: frozenset[int] = frozenset()
        self._tips_of_cells: Mapping[tuple[int, int], str] = {}

    def show_rows(
        self,
        rows: tuple[tuple[str, ...], ...],
        bold: frozenset[int] = frozenset(),
        tips_of_cells: Mapping[tuple[int, int], str] | None = None,
    ) -> None:
        """Replace everything; ``bold`` are the rows that stand out.

        ``tips_of_cells`` are for cells (row, column) that have more to say than their text.
        """
        self.beginResetModel()
        self._rows, self._bold = rows, bold
        self._tips_of_cells = tips_of_cells or {}
        self.endResetModel()

    def rowCount(self, parent: AnyIndex | None = None) -> int:
        """Number of rows."""
        return 0 if parent is not None and parent.isValid() else len(self._rows)

    def columnCount(self, parent: AnyIndex | None = None) -> int:
        """Number of titles."""
        return 0 if parent is not None and parent.isValid() else len(self._titles)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Titles, and what they mean."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._titles[section]
        if role == Qt.ItemDataRole.ToolTipRole and self._tips:
            return tips.in_lines(self._tips[section])
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _RIGHT if section in self._right_columns else _LEFT
        return None

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Text and type of a cell."""
        text = self._rows[index.row()][index.column()]
        if role == Qt.ItemDataRole.DisplayRole:
            return text
        if role == Qt.ItemDataRole.ToolTipRole:
            return tips.in_lines(self._tips_of_cells.get((index.row(), index.column()), text))
        if role == Qt.ItemDataRole.FontRole:
            return self._font(index)
        if role == Qt.ItemDataRole.TextAlignmentRole and index.column() in self._right_columns:
            return _RIGHT
        return None

    def _font(self, index: AnyIndex) -> QFont:
        if index.column() == self._name_column:
            return typography.serif()
        font = typography.sans()
        font.setBold(index.row() in self._bold)
        return font
