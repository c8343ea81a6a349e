"""Long work for the window: a worker process whose messages become signals.

A job runs in :class:`companion.processes.WorkerProcess`; a notifier on the worker's descriptor
wakes the event loop when messages have come. Nothing here waits.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QObject, QSocketNotifier, Signal

from companion.processes.messages import Done, Failed, Part
from companion.processes.worker import Job, WorkerProcess
from companion.progress import Progress


class RunningJob(QObject):
    """One job at work.

    Signals
    -------
    progressed(Progress)
        How far it is.
    part_arrived(object)
        A part of the result.
    succeeded(object)
        The result; exactly one of this and the next three comes, and it comes last.
    failed(str)
        A plain sentence.
    broken(str, str)
        A fault of the program: a plain sentence and the traceback.
    cancelled()
        It was stopped.
    """

    progressed = Signal(object)
    part_arrived = Signal(object)
    succeeded = Signal(object)
    failed = Signal(str)
    broken = Signal(str, str)
    cancelled = Signal()

    def __init__(self, job: Job | None, parent: QObject) -> None:
        super().__init__(parent)
        self._job = job
        self._over = job is None  # never to be done: the window is closed

    @property
    def over(self) -> bool:
        """Whether its last signal was sent."""
        return self._over

    @property
    def finished(self) -> bool:
        """Whether its last message has arrived."""
        return self._job is None or self._job.finished

    def cancel(self) -> None:
        """Ask it to stop; ``cancelled`` follows unless it is over before."""
        if self._job is not None:
            self._job.cancel()

    def forget(self) -> None:
        """Stop it and send no further signal: nobody is interested any more."""
        self._over = True
        self.blockSignals(True)
        self.cancel()

    def take_messages(self) -> None:
        """Turn what has arrived into signals."""
        for message in self._job.poll() if self._job is not None else ():
            if isinstance(message, Progress):
                self.progressed.emit(message)
            elif isinstance(message, Part):
                self.part_arrived.emit(message.value)
            else:
                self._over = True
                self._end(message)

    def _end(self, message: object) -> None:
        if isinstance(message, Done):
            self.succeeded.emit(message.value)
        elif isinstance(message, Failed) and message.is_bug:
            self.broken.emit(message.sentence, message.traceback)
        elif isinstance(message, Failed):
            self.failed.emit(message.sentence)
        else:
            self.cancelled.emit()


class Jobs(QObject):
    """Gives work to one worker process, in order.

    Signals
    -------
    broke(str, str)
        A job ended by a fault of the program: a plain sentence and the traceback.
    """

    broke = Signal(str, str)

    def __init__(
        self, name: str, *, preload: Sequence[str] = (), parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._name = name
        self._preload = preload
        self._worker: WorkerProcess | None = None
        self._notifier: QSocketNotifier | None = None
        self._running: list[RunningJob] = []
        self._closed = False

    def warm_up(self) -> None:
        """Start the process now, so that the first work finds it ready.

        Not in the constructor: it would compete with the window that is just opening.
        """
        if not self._closed:
            self._started_worker()

    def run(self, function: Callable[..., object], *arguments: object) -> RunningJob:
        """Queue a function that can be imported by name; connect to what is returned at once.

        After :meth:`close` nothing is done and no signal comes.
        """
        if self._closed:
            return RunningJob(None, self)
        job = RunningJob(self._started_worker().submit(function, *arguments), self)
        job.broken.connect(self.broke)
        self._running.append(job)
        return job

    def close(self) -> None:
        """End the worker process."""
        self._closed = True
        if self._notifier is not None:
            self._notifier.setEnabled(False)
        if self._worker is not None:
            self._worker.close()

    def _started_worker(self) -> WorkerProcess:
        if self._worker is None:
            self._worker = WorkerProcess(self._name, preload=self._preload)
            self._notifier = QSocketNotifier(self._worker.fileno(), QSocketNotifier.Type.Read, self)
            self._notifier.activated.connect(self._messages_arrived)
        return self._worker

    def _messages_arrived(self) -> None:
        for job in tuple(self._running):
            job.take_messages()
            if job.over or job.finished:
                job.take_messages()
                self._running.remove(job)
                job.deleteLater()
