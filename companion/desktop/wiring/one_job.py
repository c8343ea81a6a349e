"""One piece of long work at a time, with its progress line, its cancelling and its sentences."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from companion.desktop.thread_jobs import ThreadJob

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.progress import Report

_WAIT_SECONDS = 5.0


class OneJob(QObject):
    """Runs work in a thread; what fails is told in the message strip.

    Signals
    -------
    broke(str, str)
        A fault of the program: sentence and traceback.
    stopped()
        The work was cancelled, or ended by a fault of the program.
    """

    broke = Signal(str, str)
    stopped = Signal()

    def __init__(self, window: MainWindow, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._window = window
        self._job: ThreadJob | None = None
        self._told: Callable[[str], object] = window.messages.show_message

    @property
    def busy(self) -> bool:
        """Whether something is being done."""
        return self._job is not None

    def run(
        self,
        work: Callable[[Report], object],
        doing: str,
        then: Callable[[Any], object],
        *,
        failed: Callable[[str], object] | None = None,
    ) -> bool:
        """Begin some work unless other work is under way; ``then`` gets its result.

        Parameters
        ----------
        failed
            Is told the sentence of a failure, instead of the message strip; after a cancelled job
            and after a fault of the program it is not asked.
        """
        if self._job is not None:
            self._window.messages.show_message(self.tr("Something else is being done already."))
            return False
        job = ThreadJob(work, self)
        self._job = job
        progress = self._window.progress
        progress.begin(doing)
        progress.cancel_asked.connect(job.cancel)
        job.progressed.connect(progress.show_progress)
        job.when_over(self._ended)  # first: what follows may begin other work
        job.succeeded.connect(then)
        job.failed.connect(failed or self._told)
        job.broke.connect(self.broke)
        for stopped in (job.broke, job.cancelled):
            stopped.connect(self.stopped)
        job.start()
        return True

    def close(self) -> None:
        """Stop what is being done, and wait for its end."""
        if self._job is not None:
            self._job.cancel()
            self._job.wait(_WAIT_SECONDS)

    def _ended(self) -> None:
        job, self._job = self._job, None
        if job is not None:
            job.discard()
            self._window.progress.end()
