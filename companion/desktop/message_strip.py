"""A strip across the page that says what went wrong or what to do, and never stands in the way."""

from __future__ import annotations

from enum import StrEnum

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QToolButton, QWidget

from companion.desktop.icons import icon
from companion.desktop.palette import Palette

_CALM_STAYS_MS = 12_000


class Tone(StrEnum):
    """How a message is meant; each tone begins with its own sign."""

    CALM = "calm"
    ATTENTION = "attention"


_SIGNS = {Tone.CALM: "·", Tone.ATTENTION: "!"}


class MessageStrip(QWidget):
    """One message at a time, with at most one thing to do about it.

    Signals
    -------
    acted()
        The button of the message was pressed.
    """

    acted = Signal()

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("message_strip")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._sign = QLabel()
        self._text = QLabel()
        self._text.setWordWrap(True)
        self._text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self._button = QPushButton(self.tr("Do it"))
        self._button.clicked.connect(self._act)
        self._close = QToolButton()
        self._close.setProperty("flat", True)
        self._close.setAccessibleName(self.tr("Close the message"))
        self._close.setToolTip(self.tr("Close the message"))
        self._close.clicked.connect(self.hide)
        row = QHBoxLayout(self)
        row.setContentsMargins(24, 8, 16, 8)
        row.setSpacing(12)
        row.addWidget(self._sign)
        row.addWidget(self._text, 1)
        row.addWidget(self._button)
        row.addWidget(self._close)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.hide)
        self.set_colours(palette)
        self.hide()

    @property
    def text(self) -> str:
        """The sentence that is shown now; empty when the strip is closed."""
        return "" if self.isHidden() else self._text.text()

    def show_message(self, sentence: str, tone: Tone = Tone.ATTENTION, button: str = "") -> None:
        """Show a sentence; a calm one goes by itself unless it has a button."""
        self.setProperty("tone", tone.value)
        self.style().unpolish(self)
        self.style().polish(self)
        self._sign.setText(f"<b>{_SIGNS[tone]}</b>")
        self._text.setText(sentence)
        self.setAccessibleName(sentence)
        self._button.setText(button)
        self._button.setVisible(bool(button))
        self._timer.stop()
        if tone is Tone.CALM and not button:
            self._timer.start(_CALM_STAYS_MS)
        self.show()

    def set_colours(self, palette: Palette) -> None:
        """Draw with another palette from now on."""
        self._close.setIcon(icon("close", palette))

    def _act(self) -> None:
        self.hide()
        self.acted.emit()
