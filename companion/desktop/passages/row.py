"""A slim row under the score: which passage the marks belong to, one step either way."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QToolButton, QWidget

from companion.desktop import forms, typography
from companion.desktop.elided import ElidedLabel


class PassageRow(QWidget):
    """Shows a sentence between two buttons; hidden while no take is shown.

    Signals
    -------
    whole_asked()
        Show the marks of the whole take again.
    """

    whole_asked = Signal()

    def __init__(
        self, before: QAction, after: QAction, away: QAction, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._words = ElidedLabel()
        self._words.setFont(typography.sans())
        self._whole = QToolButton()
        self._whole.setText(self.tr("Whole take"))
        self._whole.setToolTip(self.tr("Show the marks of all passages together"))
        self._whole.clicked.connect(self.whole_asked)
        row = QHBoxLayout()
        row.setContentsMargins(20, 2, 16, 2)
        row.setSpacing(4)
        for action in (before, after):
            row.addWidget(_button(action))
        row.addSpacing(6)
        row.addWidget(self._words, 1)
        row.addWidget(self._whole)
        row.addWidget(_button(away))
        column = forms.column(self)
        column.addWidget(forms.rule())
        column.addLayout(row)
        self.setAccessibleName(self.tr("Passages of the take"))
        self.hide()

    @property
    def words(self) -> str:
        """What is shown."""
        return self._words.full_text

    def show_take(self, words: str) -> None:
        """Say what the marks of the whole take come from."""
        self._show(words, single=False)

    def show_passage(self, words: str) -> None:
        """Say which passage is shown."""
        self._show(words, single=True)

    def _show(self, words: str, *, single: bool) -> None:
        self._words.set_full_text(words)
        self._whole.setVisible(single)
        self.show()


def _button(action: QAction) -> QToolButton:
    button = QToolButton()
    button.setDefaultAction(action)
    button.setAccessibleName(action.text().replace("&", ""))
    button.setProperty("flat", True)
    return button
