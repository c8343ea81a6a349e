"""One dialog for every choice out of a list: a part of a score, a piece on the shelf."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QListWidget,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, typography

_WIDTH_PIXELS, _HEIGHT_PIXELS = 440, 360


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One line of the list: ``key`` is told when it is chosen."""

    key: str
    text: str


class ChoiceDialog(QDialog):
    """Choose one line of a list, by double-click or Enter.

    Signals
    -------
    chosen(str)
        Key of the choice.
    """

    chosen = Signal(str)

    def __init__(
        self,
        title: str,
        question: str,
        choices: Sequence[Choice],
        *,
        current: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.resize(_WIDTH_PIXELS, _HEIGHT_PIXELS)
        self._list = QListWidget()
        self._list.setAccessibleName(question)
        self._list.setFont(typography.serif())
        self._list.setSpacing(2)
        self._keys = [choice.key for choice in choices]
        self._list.addItems([choice.text for choice in choices])
        self._list.setCurrentRow(self._keys.index(current) if current in self._keys else 0)
        self._list.itemActivated.connect(self.accept)
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(12)
        column.addWidget(forms.heading(question))
        column.addWidget(self._list, 1)
        column.addWidget(buttons)
        self.accepted.connect(self._tell)

    def choose(self, key: str) -> None:
        """Choose a line as if it had been double-clicked."""
        if key in self._keys:
            self._list.setCurrentRow(self._keys.index(key))
            self.accept()

    @property
    def texts(self) -> tuple[str, ...]:
        """All lines."""
        return forms.texts_of(self._list)

    def _tell(self) -> None:
        row = self._list.currentRow()
        if 0 <= row < len(self._keys):
            self.chosen.emit(self._keys[row])
