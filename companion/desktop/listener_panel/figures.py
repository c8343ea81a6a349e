"""The figures of a take as a small table; each explains itself when the pointer rests on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from companion.desktop import typography

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureLine:
    """One figure: its title, its value with the unit, and what it means."""

    title: str
    value: str
    meaning: str


class FigureTable(QWidget):
    """Titles on the left, values on the right."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 2, 0, 2)
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(2)
        self._grid.setColumnStretch(0, 1)
        self._labels: list[tuple[QLabel, QLabel]] = []
        self._lines: tuple[FigureLine, ...] = ()

    @property
    def lines(self) -> tuple[FigureLine, ...]:
        """What is shown."""
        return self._lines

    def show_lines(self, lines: Sequence[FigureLine]) -> None:
        """Show these figures."""
        self._lines = tuple(lines)
        while len(self._labels) < len(lines):
            self._add_row()
        for row, (title, value) in enumerate(self._labels):
            used = row < len(lines)
            title.setVisible(used)
            value.setVisible(used)
            if used:
                line = lines[row]
                title.setText(line.title)
                value.setText(line.value)
                for label in (title, value):
                    label.setToolTip(line.meaning)
                value.setAccessibleName(f"{line.title}: {line.value}")
                value.setAccessibleDescription(line.meaning)
        self.setVisible(bool(lines))

    def _add_row(self) -> None:
        row = len(self._labels)
        title, value = QLabel(), QLabel()
        for label in (title, value):
            label.setFont(typography.sans(typography.SMALL_POINTS))
            label.setTextFormat(Qt.TextFormat.PlainText)
        title.setObjectName("figure_title")
        title.setWordWrap(True)
        self._grid.addWidget(title, row, 0)
        self._grid.addWidget(value, row, 1, Qt.AlignmentFlag.AlignRight)
        self._labels.append((title, value))
