"""A label of one line that shortens its text where room is scarce, and says all in its tooltip."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

_LEAST_LETTERS = 6


class ElidedLabel(QLabel):
    """Plain text on one line, never wider than its place."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.full_text = ""
        self.set_full_text(text)

    def set_full_text(self, text: str) -> None:
        """Show this text, as much of it as there is room for."""
        self.full_text = text
        self.setText(text)
        self.setToolTip(text)
        self.setAccessibleName(text)

    def minimumSizeHint(self) -> QSize:
        """A few letters."""
        width = self.fontMetrics().averageCharWidth() * _LEAST_LETTERS
        return QSize(width, super().minimumSizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Write as much as fits."""
        painter = QPainter(self)
        room = self.contentsRect()
        text = self.fontMetrics().elidedText(
            self.full_text, Qt.TextElideMode.ElideRight, room.width()
        )
        painter.setPen(self.palette().color(self.foregroundRole()))
        painter.drawText(room, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, text)
        painter.end()
