"""Work that needs the history and may wait for the disk: a thread whose end becomes a signal.

For work that computes for long there are processes (:mod:`companion.desktop.jobs`); a thread shares
Python's global lock with the window and must mostly wait.
"""

from __future__ import annotations

import contextlib
import threading
import traceback
from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from companion.errors import Cancelled, CompanionError
from companion.progress import Progress, Report


class ThreadJob(QObject):
    """One piece of work in a thread of its own.

    Signals
    -------
    progressed(Progress)
        How far it is.
    succeeded(object)
        The result; exactly one of this and the next three comes, and it comes last.
    failed(str)
        A plain sentence.
    broke(str, str)
        A fault of the program: a sentence and the traceback.
    cancelled()
        It was stopped.
    """

    progressed = Signal(object)
    succeeded = Signal(object)
    failed = Signal(str)
    broke = Signal(str, str)
    cancelled = Signal()

    def __init__(self, work: Callable[[Report], object], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._work = work
        self._stop = False
        self._thread = threading.Thread(target=self._run, name="thread job", daemon=True)

    def when_over(self, act: Callable[..., None]) -> None:
        """Call this when the job has ended, however it ended; in the order of the connections."""
        for ended in (self.succeeded, self.failed, self.broke, self.cancelled):
            ended.connect(act)

    def start(self) -> None:
        """Begin; connect to the signals before."""
        self._thread.start()

    def cancel(self) -> None:
        """Stop at the next report."""
        self._stop = True

    def wait(self, seconds: float) -> None:
        """Wait for the end of the thread."""
        self._thread.join(seconds)

    def discard(self) -> None:
        """Remove the job: to be called when its last signal has come, not ``deleteLater``.

        The thread tells one receiver after the other; a job that the first of them removed would be
        gone before the second is told (seen: it was told None).
        """
        self._thread.join()
        self.deleteLater()

    def _report(self, progress: Progress) -> None:
        if self._stop:
            raise Cancelled
        self._tell("progressed", progress)

    def _run(self) -> None:
        try:
            result = self._work(self._report)
        except Cancelled:
            self._tell("cancelled")
        except CompanionError as error:
            self._tell("failed", str(error))
        except Exception as error:  # noqa: BLE001 - the edge of the thread: a bug is told, not lost
            self._tell("broke", repr(error), traceback.format_exc())
        else:
            self._tell("succeeded", result)

    def _tell(self, signal: str, *values: object) -> None:
        """Emit a signal; whoever waited may be gone with the window, and nobody is told then."""
        with contextlib.suppress(RuntimeError):  # the object of Qt has been deleted
            getattr(self, signal).emit(*values)
