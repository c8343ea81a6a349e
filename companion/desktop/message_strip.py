"""A strip across the page that says what went wrong or what to do, and never stands in the way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
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


_SIGNS = {Tone.CALM: "about", Tone.ATTENTION: "attention"}
_SIGN_PIXELS = 18


@dataclass(frozen=True, slots=True)
class _Message:
    sentence: str
    tone: Tone
    button: str
    act: Callable[[], None] | None


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
        self._tone = Tone.CALM
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
        self._close.clicked.connect(self._put_away)
        row = QHBoxLayout(self)
        row.setContentsMargins(24, 8, 16, 8)
        row.setSpacing(12)
        row.addWidget(self._sign)
        row.addWidget(self._text, 1)
        row.addWidget(self._button)
        row.addWidget(self._close)
        self._shown: _Message | None = None
        self._waiting: _Message | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self._put_away)
        self.set_colours(palette)
        self.hide()

    @property
    def text(self) -> str:
        """The sentence that is shown now; empty when the strip is closed."""
        return "" if self.isHidden() else self._text.text()

    def show_message(
        self,
        sentence: str,
        tone: Tone = Tone.ATTENTION,
        button: str = "",
        act: Callable[[], None] | None = None,
        *,
        comes_back: bool = False,
    ) -> None:
        """Show a sentence; a calm one goes by itself unless it has a button.

        Parameters
        ----------
        act
            What the button of this very message does.
        comes_back
            Show it again after others that came later, until its button is pressed or it is closed.
        """
        message = _Message(sentence, tone, button, act)
        if comes_back:
            self._waiting = message
        elif self._waiting is not None and sentence in self._waiting.sentence:
            return  # that is said already, and more
        self._show(message)

    def _show(self, message: _Message) -> None:
        self._shown = message
        self.setProperty("tone", message.tone.value)
        self.style().unpolish(self)
        self.style().polish(self)
        self._tone = message.tone
        self._draw_sign()
        self._text.setText(message.sentence)
        self.setAccessibleName(message.sentence)
        self._button.setText(message.button)
        self._button.setVisible(bool(message.button))
        self._timer.stop()
        if message.tone is Tone.CALM and not message.button:
            self._timer.start(_CALM_STAYS_MS)
        self.show()

    def _put_away(self) -> None:
        """Close what is shown; what waits behind it comes back."""
        if self._shown is self._waiting or self._waiting is None:
            self._waiting = None
            self.hide()
        else:
            self._show(self._waiting)

    def set_colours(self, palette: Palette) -> None:
        """Draw with another palette from now on."""
        self._colours = palette
        self._close.setIcon(icon("close", palette))
        self._draw_sign()

    def _draw_sign(self) -> None:
        sign = icon(_SIGNS[self._tone], self._colours)
        self._sign.setPixmap(sign.pixmap(_SIGN_PIXELS, _SIGN_PIXELS))

    def _act(self) -> None:
        message = self._shown
        self._put_away()
        self.acted.emit()
        if message is not None and message.act is not None:
            message.act()
