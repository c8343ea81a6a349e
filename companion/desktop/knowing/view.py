"""What is known and since when, on top of the page of the days."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QWidget

from companion.desktop import forms, tips, typography
from companion.desktop.knowing import wording
from companion.desktop.knowing.chart import KnowingChart
from companion.desktop.knowing.content import KnowingContent
from companion.desktop.palette import Palette
from companion.history.definitions import definition

_SPACING = 6


class KnowingView(QWidget):
    """The one question of the piece with its answer, the sections known longest, the rules.

    Signals
    -------
    section_chosen(str)
        A section or task was chosen (id).
    rules_asked()
        The rules of the piece shall be changed.
    """

    section_chosen = Signal(str)
    rules_asked = Signal()

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._question = forms.heading(wording.tr("Are the hardest sections those known longest?"))
        self._question.setToolTip(tips.in_lines(definition("known_longest").sentence))
        self._answer = QLabel()
        self._answer.setFont(typography.serif(typography.SERIF_POINTS))
        self._answer.setWordWrap(True)
        self._answer.setAccessibleName(self._question.text())
        self._changes = QLabel()
        self._changes.setWordWrap(True)
        self._changes.setFont(typography.serif(typography.SERIF_POINTS, italic=True))
        self._changes.setAccessibleName(wording.tr("What to change"))
        self._chart = KnowingChart(palette, self)
        self._chart.section_chosen.connect(self.section_chosen)
        self._rules = forms.small()
        self._rules.setAccessibleName(wording.tr("Rules of this piece"))
        self._button = QPushButton(wording.tr("&Rules of this piece…"))
        self._button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._button.clicked.connect(self.rules_asked)
        column = forms.column(self)
        column.setSpacing(_SPACING)
        column.addWidget(self._question)
        column.addWidget(self._answer)
        column.addWidget(self._changes)
        column.addSpacing(_SPACING)
        column.addWidget(self._chart)
        foot = QHBoxLayout()
        foot.setSpacing(24)
        foot.addWidget(self._rules, 1)
        foot.addWidget(self._button)
        column.addLayout(foot)

    def set_palette(self, palette: Palette) -> None:
        """Draw in other colours from now on."""
        self._chart.set_palette(palette)

    def show_content(self, content: KnowingContent) -> None:
        """Show a piece."""
        self._answer.setText(
            wording.question(content)
            if content.any_cold_take
            else wording.tr(
                "Nothing has been played cold yet. A cold take is the first of a section on a day, "
                "with both hands, from its beginning to its end."
            )
        )
        change = wording.change(content) if content.any_cold_take else ""
        self._changes.setText(change)
        self._changes.setToolTip("\n".join(wording.changes(content)))
        self._changes.setVisible(bool(change))
        self._chart.show_content(content)
        self._rules.setText(wording.judged_by(content))

    @property
    def chart(self) -> KnowingChart:
        """The rows of the sections."""
        return self._chart

    @property
    def answer(self) -> str:
        """The answer that is shown."""
        return self._answer.text()
