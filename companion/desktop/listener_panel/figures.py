"""The figures of a take as a small table; each explains itself when the pointer rests on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QWidget

from companion.desktop import tips, typography

if TYPE_CHECKING:
    from collections.abc import Sequence

_FIRST_FIGURES = 7  # accuracy, the four kinds of notes, both tempi: what one asks first


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
        self._grid.setVerticalSpacing(3)
        self._grid.setColumnStretch(0, 1)
        self._labels: list[tuple[QLabel, QLabel]] = []
        self._lines: tuple[FigureLine, ...] = ()
        self._more = QPushButton()
        self._more.setObjectName("more_figures")
        self._more.setCheckable(True)
        self._more.toggled.connect(self._show_rows)

    @property
    def lines(self) -> tuple[FigureLine, ...]:
        """What is shown."""
        return self._lines

    def show_lines(self, lines: Sequence[FigureLine]) -> None:
        """Show these figures."""
        self._lines = tuple(lines)
        while len(self._labels) < len(lines):
            self._add_row()
        for line, (title, value) in zip(self._lines, self._labels, strict=False):
            title.setText(line.title)
            value.setText(line.value)
            for label in (title, value):
                label.setToolTip(tips.in_lines(line.meaning))
            value.setAccessibleName(f"{line.title}: {line.value}")
            value.setAccessibleDescription(line.meaning)
        self._grid.removeWidget(self._more)
        self._grid.addWidget(self._more, len(self._labels), 0, 1, 2, Qt.AlignmentFlag.AlignLeft)
        self._show_rows()
        self.setVisible(bool(lines))

    def _show_rows(self) -> None:
        count = len(self._lines)
        last = count if self._more.isChecked() else min(count, _FIRST_FIGURES)
        for row, labels in enumerate(self._labels):
            for label in labels:
                label.setVisible(row < last)
        self._more.setVisible(count > _FIRST_FIGURES)
        self._more.setText(self.tr("Fewer figures") if last == count else self.tr("More figures"))

    def _add_row(self) -> None:
        row = len(self._labels)
        title, value = QLabel(), QLabel()
        for label in (title, value):
            label.setFont(typography.sans(typography.TEXT_POINTS))
            label.setTextFormat(Qt.TextFormat.PlainText)
        title.setObjectName("figure_title")
        title.setWordWrap(True)
        self._grid.addWidget(title, row, 0)
        self._grid.addWidget(value, row, 1, Qt.AlignmentFlag.AlignRight)
        self._labels.append((title, value))
