"""Python's garbage collector, in the thread of the window only.

A collection runs in whichever thread happens to set it off, and takes apart whatever it finds: also
widgets in a reference cycle, and a widget taken apart outside the window's thread ends the program
(seen as a segmentation fault while a worker's thread unpickled a score). So the collector is
switched off and called by a timer in the event loop. The old generation, which takes long with a
large score, is only looked through while nobody plays.

A score, its pages or the results of many takes come out of a pickle as some hundred thousand
objects at once. Looking through them took 120 ms and more, in the middle of playing; they have no
cycles and go when nobody holds them any more. So whenever that many are new they are set aside
unseen. Rubbish in a cycle that happens to be among them stays: a little each time a score is
opened.
"""

from __future__ import annotations

import gc
from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer

from companion.processes.collector import hold_off, let_go

_LOOK_EVERY_MS = 2_000
_OLDEST = 2
_LOADED = 20_000  # so many new objects come from loading; to look through fewer takes under 5 ms
_YOUNG_BEFORE_OLD = 30  # collections of the young between two of the old: about a minute


class Tidying(QObject):
    """Collects garbage in the event loop.

    Parameters
    ----------
    may_take_long
        Whether this is a moment at which a pause is not felt.
    """

    def __init__(self, may_take_long: Callable[[], bool], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._may_take_long = may_take_long
        self._since_old = 0
        self._timer = QTimer(self)
        self._timer.setInterval(_LOOK_EVERY_MS)
        self._timer.timeout.connect(self.look)

    def start(self) -> None:
        """Take the collector over."""
        hold_off()
        self._timer.start()

    def settle(self) -> None:
        """Set aside what has been loaded: a score has no cycles and takes long to look through."""
        gc.freeze()

    def stop(self) -> None:
        """Leave it to Python again: no other thread of ours is alive."""
        self._timer.stop()
        let_go()

    def look(self) -> None:
        """Collect what is due; the timer does it every two seconds."""
        young, middle, _ = gc.get_count()
        self._since_old += 1
        if young > _LOADED:
            self.settle()
        elif self._since_old >= _YOUNG_BEFORE_OLD and self._may_take_long():
            self._since_old = 0
            gc.collect(_OLDEST)
        elif young > gc.get_threshold()[0]:
            gc.collect(1 if middle > gc.get_threshold()[1] else 0)
