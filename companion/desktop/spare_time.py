"""Work for the time that the event loop has left over, in slices too short to be felt."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

from PySide6.QtCore import QCoreApplication, QEvent, QObject, QTimer, Signal

_SLICE_SECONDS = 0.006
_INPUT = frozenset(
    (
        QEvent.Type.KeyPress,
        QEvent.Type.ShortcutOverride,
        QEvent.Type.MouseButtonPress,
        QEvent.Type.Wheel,
        QEvent.Type.DragEnter,
        QEvent.Type.TouchBegin,
    )
)


class SpareTime(QObject):
    """Goes through a generator of steps while nothing else is to be done.

    The person does not have to wait for the end of it, nor to know: whoever presses a key or a
    button before it is over finds everything done.

    Signals
    -------
    over()
        All steps are done.
    """

    over = Signal()

    def __init__(self, steps: Iterator[None], parent: QObject) -> None:
        super().__init__(parent)
        self._steps: Iterator[None] | None = steps
        self._stopped = False
        self._timer = QTimer(self)
        self._timer.timeout.connect(self._slice)

    def begin(self) -> None:
        """Begin with the first slice when the event loop comes round."""
        application = QCoreApplication.instance()
        if self._steps is not None and application is not None:
            application.installEventFilter(self)
            self._timer.start(0)

    def finish(self) -> None:
        """Do all that is left, now."""
        while self._step():
            pass

    def stop(self) -> None:
        """Leave undone what is left."""
        self._steps = None
        self._stopped = True
        self._end()

    def then(self, act: Callable[[], None]) -> None:
        """Do something when all steps are done: at once, if they are."""
        if self._steps is not None:
            self.over.connect(act)
        elif not self._stopped:
            act()

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:
        """Finish before the first input is answered."""
        if event.type() in _INPUT:
            self.finish()
        return False

    def _slice(self) -> None:
        end = time.perf_counter() + _SLICE_SECONDS
        while time.perf_counter() < end and self._step():
            pass

    def _step(self) -> bool:
        """Do a step; False when there is none left."""
        if self._steps is None:
            return False
        try:
            next(self._steps)
        except StopIteration:
            self._steps = None
            self._end()
            self.over.emit()
            return False
        return True

    def _end(self) -> None:
        self._timer.stop()
        application = QCoreApplication.instance()
        if application is not None:
            application.removeEventFilter(self)
