"""The sections and the earlier checks as tables."""

from __future__ import annotations

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtGui import QFont

from companion.desktop import tips, typography
from companion.desktop.readiness.content import PastCheck, ReadySection
from companion.desktop.readiness.wording import tr

AnyIndex = QModelIndex | QPersistentModelIndex
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)


class LinesModel(QAbstractTableModel):
    """Rows of text under titles; the first cell of a row is a name."""

    def __init__(
        self,
        titles: tuple[str, ...],
        tips_of_titles: tuple[str, ...],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._titles, self._tips = titles, tips_of_titles
        self._rows: tuple[tuple[str, ...], ...] = ()
        self._bold: frozenset[int] = frozenset()

    def show_rows(
        self, rows: tuple[tuple[str, ...], ...], bold: frozenset[int] = frozenset()
    ) -> None:
        """Replace everything; ``bold`` are the rows that stand out."""
        self.beginResetModel()
        self._rows, self._bold = rows, bold
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
        if role == Qt.ItemDataRole.ToolTipRole:
            return tips.in_lines(self._tips[section])
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _LEFT
        return None

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Text and type of a cell."""
        text = self._rows[index.row()][index.column()]
        if role == Qt.ItemDataRole.DisplayRole:
            return text
        if role == Qt.ItemDataRole.ToolTipRole:
            return tips.in_lines(text)
        if role == Qt.ItemDataRole.FontRole:
            return self._font(index)
        return None

    def _font(self, index: AnyIndex) -> QFont:
        font = typography.serif() if index.column() == 0 else typography.sans()
        if index.row() in self._bold and index.column():
            font.setBold(True)
        return font


def sections_model(parent: QObject) -> LinesModel:
    """The table of the sections."""
    return LinesModel(
        (
            tr("Section"),
            tr("Without a stop"),
            tr("Slips"),
            tr("Tempo"),
            tr("Known"),
            tr("Chords named"),
            tr("Last check"),
        ),
        (
            "",
            tr(
                "Probability that it goes without a stop at first try, with its 95 % interval and "
                "the first takes of a day that it rests on."
            ),
            tr("Errors to be expected once through, with their 95 % interval."),
            tr("Tempo of the newest first take of a day as a share of the target."),
            tr("How long it has been known without a lapse."),
            tr(
                "How many of the newest chords that were asked for away from the keyboard were "
                "named all right, with the Wilson interval of the share. It is shown beside the "
                "estimate and does not change it."
            ),
            tr("What the last check showed of it."),
        ),
        parent,
    )


def section_rows(sections: tuple[ReadySection, ...]) -> tuple[tuple[str, ...], ...]:
    """Cells of the table of the sections."""
    return tuple(
        (s.name, s.without_stop, s.slips, s.tempo, s.known, s.named, s.checked) for s in sections
    )


def checks_model(parent: QObject) -> LinesModel:
    """The table of the earlier checks."""
    return LinesModel(
        (tr("Check of"), tr("Run without a stop"), tr("Starts"), tr("What it showed")),
        (
            "",
            tr("Probability of a run without a stop, as it was estimated that day."),
            tr("Starts that were right, with the Wilson interval of the share."),
            tr("Compared with the check before, or in numbers for the first one."),
        ),
        parent,
    )


def check_rows(checks: tuple[PastCheck, ...]) -> tuple[tuple[str, ...], ...]:
    """Cells of the table of the earlier checks."""
    return tuple((c.when, c.without_stop, c.starts, c.says) for c in checks)
