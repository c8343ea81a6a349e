"""The two tables of the page of the harmony: the key plan, and what was named in each section."""

from __future__ import annotations

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from companion.desktop import typography
from companion.desktop.harmony.content import HarmonyContent, KeyLine, SectionLine
from companion.desktop.harmony.wording import share_text, tr
from companion.history.knowing.retention import wilson_interval

AnyIndex = QModelIndex | QPersistentModelIndex


class KeyPlanModel(QAbstractTableModel):
    """Measures and key, one row per stretch in one key."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._lines: tuple[KeyLine, ...] = ()

    def show_content(self, content: HarmonyContent) -> None:
        """Replace everything."""
        self.beginResetModel()
        self._lines = content.keys
        self.endResetModel()

    def line(self, row: int) -> KeyLine:
        """The stretch in a row."""
        return self._lines[row]

    def rowCount(self, parent: AnyIndex | None = None) -> int:
        """Number of stretches."""
        return 0 if parent is not None and parent.isValid() else len(self._lines)

    def columnCount(self, parent: AnyIndex | None = None) -> int:
        """Measures and key."""
        return 0 if parent is not None and parent.isValid() else 2

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Titles."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return (tr("Measures"), tr("Key"))[section]
        return _left() if role == Qt.ItemDataRole.TextAlignmentRole else None

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return text and font of a cell."""
        if not index.isValid():
            return None
        line = self._lines[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return (line.measures, line.key)[index.column()]
        if role == Qt.ItemDataRole.FontRole and index.column() == 1:
            return typography.serif(typography.SERIF_POINTS)
        return None


class RecitedModel(QAbstractTableModel):
    """Sections with their keys and what was named in them."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._lines: tuple[SectionLine, ...] = ()

    def show_content(self, content: HarmonyContent) -> None:
        """Replace everything."""
        self.beginResetModel()
        self._lines = content.sections
        self.endResetModel()

    def line(self, row: int) -> SectionLine:
        """The section in a row."""
        return self._lines[row]

    def rowCount(self, parent: AnyIndex | None = None) -> int:
        """Number of sections."""
        return 0 if parent is not None and parent.isValid() else len(self._lines)

    def columnCount(self, parent: AnyIndex | None = None) -> int:
        """Section, keys, named, last time, key, root, quality, bass."""
        return 0 if parent is not None and parent.isValid() else len(_titles())

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Titles."""
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return _titles()[section]
        if role == Qt.ItemDataRole.ToolTipRole:
            return tr("Right of named, over all days, with the 95 % interval of Wilson")
        return _left() if role == Qt.ItemDataRole.TextAlignmentRole else None

    def data(self, index: AnyIndex, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return text, font and the interval of a cell."""
        if not index.isValid():
            return None
        line = self._lines[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return self._text(line, index.column())
        if role == Qt.ItemDataRole.FontRole and index.column() == 0:
            return typography.serif(typography.SERIF_POINTS)
        if role == Qt.ItemDataRole.ToolTipRole and line.recited.asked:
            low, high = wilson_interval(line.recited.right, line.recited.asked)
            return tr("{right} of {asked} all right; likely between {low} and {high} %").format(
                right=line.recited.right,
                asked=line.recited.asked,
                low=round(100 * low),
                high=round(100 * high),
            )
        return None

    def _text(self, line: SectionLine, column: int) -> str:
        if column == 0:
            return "\u2003" * line.level + line.name
        if column == 1:
            return line.keys
        if column == 2:
            return share_text(line.recited.right, line.recited.asked)
        if column == 3:
            days = line.recited.days
            return f"{days[-1].day.day}.{days[-1].day.month}." if days else ""
        return share_text(*line.recited.part_right[column - 4])


def _titles() -> tuple[str, ...]:
    return (
        tr("Section"),
        tr("Keys"),
        tr("All right"),
        tr("Last"),
        tr("Key"),
        tr("Root"),
        tr("Quality"),
        tr("Bass"),
    )


def _left() -> Qt.AlignmentFlag:
    return Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
