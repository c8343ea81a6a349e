"""Work for the time that the event loop has left over, in slices too short to be felt."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QTimer, Signal

if TYPE_CHECKING:
    from PySide6.QtGui import QWindow
    from PySide6.QtWidgets import QWidget

_SLICE_SECONDS = 0.006
_INPUT = frozenset(
    (
        QEvent.Type.KeyPress,
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

    Parameters
    ----------
    steps
        Does a little more each time it is asked.
    window
        The window whose input ends the spare time.

    Signals
    -------
    over()
        All steps are done.
    """

    over = Signal()

    def __init__(self, steps: Iterator[None], window: QWidget, parent: QObject) -> None:
        super().__init__(parent)
        self._window = window
        self._input: QWindow | None = None
        self._steps: Iterator[None] | None = steps
        self._stopped = False
        self._timer = QTimer(self)
        self._timer.timeout.connect(self._slice)

    def watch(self) -> None:
        """Do all steps at the first input, should it come before :meth:`begin`."""
        if self._steps is None or self._input is not None:
            return
        # all input of a window comes through its handle first. A filter on the application would
        # see every event of every object, and make each a Python object
        self._input = self._window.windowHandle()
        if self._input is not None:
            self._input.installEventFilter(self)

    def begin(self) -> None:
        """Begin with the first slice when the event loop comes round."""
        self.watch()
        if self._steps is not None:
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
        if self._input is not None:
            self._input.removeEventFilter(self)
            self._input = None
