"""Writing the name of a section on the map itself."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from companion.desktop import typography

_LEAST_WIDTH_PIXELS = 140
_HEIGHT_PIXELS = 30


class NameEdit(QLineEdit):
    """A line that is gone when the name is written, or given up with Escape.

    Signals
    -------
    written(str)
        The new name, without spaces around it.
    closed()
        The line goes away.
    """

    written = Signal(str)
    closed = Signal()

    def __init__(self, name: str, rect: QRectF, parent: QWidget) -> None:
        super().__init__(name, parent)
        self._open = True
        self.setFont(typography.serif())
        self.setAccessibleName(self.tr("Name of the section"))
        width = max(rect.width(), _LEAST_WIDTH_PIXELS)
        left = max(0.0, min(rect.left(), parent.width() - width))
        self.setGeometry(QRectF(left, rect.top(), width, _HEIGHT_PIXELS).toRect())
        self.selectAll()
        self.editingFinished.connect(self._finished)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Give up on Escape."""
        if event.key() == Qt.Key.Key_Escape:
            self._close()
        else:
            super().keyPressEvent(event)

    def _finished(self) -> None:
        name = self.text().strip()
        if self._open:
            self._close()
            self.written.emit(name)

    def _close(self) -> None:
        self._open = False
        self.deleteLater()
        self.closed.emit()
