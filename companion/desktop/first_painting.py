"""The moment at which the window has been painted for the first time.

Until then everything that could wait should: threads share Python's lock with the painting, and
processes the processors of the machine.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtWidgets import QWidget

_AT_THE_LATEST_MS = 3000  # a window that opens minimised is not painted at all


class FirstPainting(QObject):
    """Does things once the window has been painted, or after a while when it is not.

    Parameters
    ----------
    window
        The window; watched from :meth:`await_it` on.
    """

    def __init__(self, window: QWidget, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._window = window
        self._over = False
        self._waiting: list[Callable[[], None]] = []
        self._after_event = QTimer(self)
        self._after_event.setSingleShot(True)
        self._after_event.timeout.connect(self._painted)

    def await_it(self) -> None:
        """Begin to watch; the window is about to be shown."""
        self._window.installEventFilter(self)
        self._after_event.start(_AT_THE_LATEST_MS)

    def then(self, act: Callable[[], None]) -> None:
        """Do something after the painting, at once if that is over."""
        if self._over:
            act()
        else:
            self._waiting.append(act)

    def forget(self) -> None:
        """The window closes: whatever waits is not done any more."""
        self._after_event.stop()
        self._waiting.clear()

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:
        """See the event that begins the painting; when the loop comes round, it is done."""
        if event.type() == QEvent.Type.Paint:
            self._window.removeEventFilter(self)
            self._after_event.start(0)
        return False

    def _painted(self) -> None:
        self._over = True
        waiting, self._waiting = self._waiting, []
        for act in waiting:
            act()
