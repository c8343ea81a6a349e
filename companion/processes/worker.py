"""The outside of a worker process: jobs, and the thread that looks after the child.

All that can block (starting the child, sending and receiving large values, unpickling) happens in
one thread of the parent, which takes turns with the window every few milliseconds. The caller's
side only appends to and takes from queues.
"""

from __future__ import annotations

import contextlib
import itertools
import os
import pickle
import signal
import sys
import threading
import time
import traceback
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from types import ModuleType
from typing import TYPE_CHECKING, Self

from companion.errors import Cancelled, CompanionError
from companion.processes.child import CancelRequest, Limits, Request, run_child
from companion.processes.messages import (
    BROKE_DOWN,
    CANNOT_START,
    CANNOT_START_NOW,
    ENDED_FROM_OUTSIDE,
    OWN_FAULT,
    Done,
    Failed,
    Message,
    Part,
    Started,
    Stopped,
)
from companion.processes.values import unpickled
from companion.progress import Progress, Report, no_report

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess

CANCEL_GRACE_SECONDS = 0.5
"""So long a cancelled job may take to reach its next report before the child is killed."""

_REAP_SECONDS = 1.0  # between the end of a connection and the end of its process


class Job:
    """One piece of work in a worker process.

    Messages arrive in order: any number of ``Progress`` and ``Part``, then exactly one of
    ``Done``, ``Failed`` and ``Stopped``.
    """

    def __init__(
        self,
        worker: WorkerProcess,
        job_id: int,
        function: Callable[..., object],
        arguments: tuple[object, ...],
    ) -> None:
        self._worker = worker
        self._job_id = job_id
        self._function = function
        self._arguments = arguments
        self._messages: deque[Message] = deque()
        self._arrived = threading.Condition()
        self._finished = False
        self._cancelled_at_seconds: float | None = None

    @property
    def finished(self) -> bool:
        """Whether the last message has arrived (it may not have been polled yet)."""
        return self._finished

    def poll(self) -> list[Message]:
        """Return the messages that have arrived since the last call; never blocks."""
        with self._arrived:
            messages = list(self._messages)
            self._messages.clear()
        self._worker._taken(len(messages))  # noqa: SLF001 - two halves of one thing
        return messages

    def wait(self, timeout_seconds: float | None = None) -> list[Message]:
        """Block until at least one message has arrived or the time is over; then :meth:`poll`."""
        with self._arrived:
            self._arrived.wait_for(lambda: self._messages or self._finished, timeout_seconds)
        return self.poll()

    def result(
        self, report: Report = no_report, emit: Callable[[object], None] | None = None
    ) -> object:
        """Block until the job is over and return its value.

        Raises
        ------
        CompanionError
            The job failed with a sentence for the person.
        Cancelled
            The job was cancelled.
        RuntimeError
            The job failed by a fault of the program; the text is the traceback in the child.
        """
        while True:
            for message in self.wait():
                if isinstance(message, Progress):
                    report(message)
                elif isinstance(message, Part):
                    if emit is not None:
                        emit(message.value)
                elif isinstance(message, Done):
                    return message.value
                elif isinstance(message, Stopped):
                    raise Cancelled
                elif message.is_bug:
                    raise RuntimeError(message.traceback or message.sentence)
                else:
                    raise CompanionError(message.sentence)

    def cancel(self) -> None:
        """Ask the job to stop; it ends with ``Stopped`` unless it was done already."""
        self._worker._cancel(self)  # noqa: SLF001 - two halves of one thing

    def _deliver(self, message: Message) -> None:
        with self._arrived:
            if self._finished:
                return
            self._messages.append(message)
            self._finished = isinstance(message, Done | Failed | Stopped)
            self._worker._delivered()  # noqa: SLF001 - two halves of one thing
            self._arrived.notify_all()


class WorkerProcess:
    """One warm child process that runs plain functions, one at a time, in order.

    Parameters
    ----------
    name
        For the list of processes and threads.
    preload
        Modules that the child imports at its start, so that the first job finds them there.
    memory_bytes
        Limit of the child's address space; None for no limit.
    niceness
        How much the child gives way to the window and the piano.
    """

    def __init__(
        self,
        name: str = "worker",
        *,
        preload: Sequence[str] = (),
        memory_bytes: int | None = 4 << 30,
        niceness: int = 5,
    ) -> None:
        self._name = name
        self._preload = tuple(preload)
        self._limits = Limits(memory_bytes=memory_bytes, niceness=niceness)
        self._ids = itertools.count(1)
        self._lock = threading.Lock()
        self._queue: deque[Job] = deque()
        self._running: Job | None = None
        self._undelivered = 0
        self._closing = False
        self._commands = _Bell()  # rings in the thread: something to do
        self._arrivals = _Bell()  # rings at the caller: something has arrived
        self._thread = threading.Thread(target=self._look_after, name=f"{name} keeper", daemon=True)
        self._thread.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def submit(self, function: Callable[..., object], *arguments: object) -> Job:
        """Queue a function for the child.

        Parameters
        ----------
        function
            A function that can be imported by its name. Where it has parameters ``report`` or
            ``emit``, it is given them: ``report(Progress)``, and ``emit(value)`` to send a part of
            the result ahead.
        arguments
            Values that can be pickled.
        """
        job = Job(self, next(self._ids), function, arguments)
        with self._lock:
            if self._closing:
                raise RuntimeError("the worker process has been closed")
            self._queue.append(job)
        self._commands.ring()
        return job

    def fileno(self) -> int:
        """Return a file descriptor that is readable while messages wait to be polled."""
        return self._arrivals.fileno()

    def close(self) -> None:
        """End the child at once; jobs that are not over end with ``Stopped``."""
        with self._lock:
            if self._closing:
                return
            self._closing = True
        self._commands.ring()
        self._thread.join()
        with self._lock:  # a job may still be polled: its messages stay
            self._commands.close()
            self._arrivals.close()

    # called by jobs, from any thread

    def _cancel(self, job: Job) -> None:
        with self._lock:
            if self._closing or job.finished or job._cancelled_at_seconds is not None:  # noqa: SLF001
                return
            job._cancelled_at_seconds = time.monotonic()  # noqa: SLF001 - two halves of one thing
        self._commands.ring()

    def _delivered(self) -> None:
        with self._lock:
            self._undelivered += 1
            if self._undelivered == 1:
                self._arrivals.ring()

    def _taken(self, count: int) -> None:
        with self._lock:
            self._undelivered -= count
            if count and not self._undelivered:
                self._arrivals.silence()

    # all below runs in the keeper's thread

    def _look_after(self) -> None:
        child = _Child(self._name, self._limits, self._preload)
        while not self._closing:
            try:
                child.ensure_alive()
                self._serve(child)
            except _NotStarted:
                child.kill()
                if self._running is None and not self._queue:
                    self._waited_for(child, None)  # nobody is waiting: tried again with a job
                else:
                    self._end_all(Failed(CANNOT_START_NOW))
            except Exception:  # noqa: BLE001 - the edge of the thread: whoever waits must hear of it
                child.kill()
                failure = Failed(OWN_FAULT, is_bug=True, traceback=traceback.format_exc())
                self._end_all(failure)
                if not self._closing:
                    self._waited_for(child, None)  # tried again with the next job only
        child.kill()
        self._end_all(Stopped())

    def _serve(self, child: _Child) -> None:
        cancel_sent = False
        while not self._closing:
            if self._running is None:
                self._running, cancel_sent = self._next_job(child), False
            running, timeout = self._running, None
            if running is not None and running._cancelled_at_seconds is not None:  # noqa: SLF001
                over = running._cancelled_at_seconds + CANCEL_GRACE_SECONDS  # noqa: SLF001
                timeout = max(0.0, over - time.monotonic())
                if not cancel_sent:
                    child.send(CancelRequest(running._job_id))  # noqa: SLF001
                    cancel_sent = True
                elif timeout == 0.0:
                    child.kill()
                    running._deliver(Stopped())  # noqa: SLF001
                    self._running = None
                    child.ensure_alive()
                    continue
            if self._waited_for(child, timeout):
                self._receive(child, running)
            if running is not None and running.finished:
                self._running = None

    def _waited_for(self, child: _Child, timeout: float | None) -> bool:
        """Wait for a command or an answer; tell whether there is an answer."""
        from multiprocessing.connection import wait

        watched: list[Connection | int] = [self._commands.fileno()]
        if child.connection is not None:
            watched.append(child.connection)
        ready = wait(watched, timeout)
        if self._commands.fileno() in ready:
            self._commands.silence()
        return child.connection in ready

    def _next_job(self, child: _Child) -> Job | None:
        """Send the next job that nobody has cancelled to the child."""
        while True:
            with self._lock:
                if not self._queue:
                    return None
                job = self._queue.popleft()
            if job._cancelled_at_seconds is not None:  # noqa: SLF001 - two halves of one thing
                job._deliver(Stopped())  # noqa: SLF001
                continue
            try:
                request = Request.of(job._job_id, job._function, job._arguments)  # noqa: SLF001
            except Exception as error:  # noqa: BLE001 - pickle raises what it likes
                job._deliver(Failed(OWN_FAULT, is_bug=True, traceback=repr(error)))  # noqa: SLF001
                continue
            self._running = job
            child.ensure_alive()
            child.send(request)
            return job

    def _receive(self, child: _Child, running: Job | None) -> None:
        try:
            job_id, message = child.receive()
        except (EOFError, OSError):
            sentence = child.why_it_ended()
            child.kill()  # an idle child that died is started again with the next job only:
            if running is not None:  # one that cannot live must not be started for ever
                running._deliver(Failed(sentence))  # noqa: SLF001 - two halves of one thing
                child.ensure_alive()
            return
        if isinstance(message, Started):
            child.has_started = True
        elif running is not None and running._job_id == job_id:  # noqa: SLF001
            running._deliver(message)  # noqa: SLF001

    def _end_all(self, message: Failed | Stopped) -> None:
        with self._lock:
            rest = list(self._queue)
            self._queue.clear()
        running, self._running = self._running, None
        for job in (*([running] if running else []), *rest):
            job._deliver(message)  # noqa: SLF001 - two halves of one thing


class _NotStarted(Exception):
    """The system gives no process, no memory or no pipe for a child at the moment."""


class _Child:
    """The process and the connection to it.

    ``has_started`` says whether it has found everything that it needs and serves requests.
    """

    def __init__(self, name: str, limits: Limits, preload: tuple[str, ...]) -> None:
        self._name = name
        self._limits = limits
        self._preload = preload
        self.has_started = False
        self.connection: Connection | None = None
        self._process: SpawnProcess | None = None

    def ensure_alive(self) -> None:
        """Start the child unless it is there."""
        if self.connection is not None:
            return
        self.has_started = False
        try:
            self._start()
        except (OSError, MemoryError) as error:
            raise _NotStarted from error

    def _start(self) -> None:
        from multiprocessing import get_context  # here: the window opens earlier without it

        context = get_context("spawn")
        self.connection, theirs = context.Pipe()
        self._process = context.Process(
            target=run_child,
            args=(theirs, self._limits, self._preload),
            name=self._name,
            daemon=True,
        )
        with _main_module_hidden():
            self._process.start()
        theirs.close()  # so that the end of the child is seen as the end of the connection

    def send(self, value: object) -> None:
        data = pickle.dumps(value, protocol=pickle.HIGHEST_PROTOCOL)
        if self.connection is not None:
            # a dead child is noticed when its answer is waited for
            with contextlib.suppress(OSError):
                self.connection.send_bytes(data)

    def receive(self) -> tuple[int, Message]:
        if self.connection is None:
            raise EOFError
        answer: tuple[int, Message] = unpickled(self.connection.recv_bytes())
        return answer

    def why_it_ended(self) -> str:
        """One sentence on a child that has ended by itself."""
        process = self._process
        if process is None:
            return ENDED_FROM_OUTSIDE
        process.join(_REAP_SECONDS)
        if process.exitcode in (None, -signal.SIGKILL, -signal.SIGTERM):
            return ENDED_FROM_OUTSIDE  # so does the system when memory runs short
        return BROKE_DOWN if self.has_started else CANNOT_START

    def kill(self) -> None:
        if self._process is not None:
            if self._process.pid is not None:  # else it was never started
                self._process.kill()
                self._process.join()
            self._process.close()
            self._process = None
        if self.connection is not None:
            self.connection.close()
            self.connection = None


@contextlib.contextmanager
def _main_module_hidden() -> Iterator[None]:
    """Keep the child from importing the parent's main module, and with it Qt and the window."""
    main = sys.modules["__main__"]
    sys.modules["__main__"] = ModuleType("__main__")
    try:
        yield
    finally:
        sys.modules["__main__"] = main


class _Bell:
    """A pipe that is readable between ``ring`` and ``silence``."""

    def __init__(self) -> None:
        self._closed = False
        self._read, self._write = os.pipe()
        os.set_blocking(self._read, False)
        os.set_blocking(self._write, False)

    def fileno(self) -> int:
        return self._read

    def ring(self) -> None:
        if not self._closed:
            with contextlib.suppress(BlockingIOError):  # full: it rings already
                os.write(self._write, b"\0")

    def silence(self) -> None:
        if not self._closed:
            with contextlib.suppress(BlockingIOError):
                while os.read(self._read, 4096):
                    pass

    def close(self) -> None:
        self._closed = True
        os.close(self._read)
        os.close(self._write)
