"""Questions that a thread answers one after the other; of those that wait only the last counts."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from companion.desktop.thread_jobs import ThreadJob
from companion.progress import Report

_WAIT_SECONDS = 5.0

Work = Callable[[Report], object]


class LastAsked(QObject):
    """Answers a question in a thread, then the newest of those that came meanwhile.

    Signals
    -------
    answered(object)
        The result of a question.
    failed(str)
        A plain sentence.
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    answered = Signal(object)
    failed = Signal(str)
    broke = Signal(str, str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._job: ThreadJob | None = None
        self._next: Work | None = None

    @property
    def busy(self) -> bool:
        """Whether a question is being answered."""
        return self._job is not None

    def ask(self, work: Work) -> None:
        """Ask; the answer comes as a signal, unless another question takes its place first."""
        if self._job is not None:
            self._next = work
            return
        self._job = ThreadJob(work, self)
        self._job.when_over(self._ended)  # first: whoever is told may ask again
        self._job.succeeded.connect(self.answered)
        self._job.failed.connect(self.failed)
        self._job.broke.connect(self.broke)
        self._job.start()

    def close(self) -> None:
        """Answer nothing more, and wait for what is being answered."""
        self._next = None
        if self._job is not None:
            self._job.cancel()
            self._job.wait(_WAIT_SECONDS)

    def _ended(self) -> None:
        job, self._job = self._job, None
        if job is not None:
            job.discard()
        work, self._next = self._next, None
        if work is not None:
            self.ask(work)
