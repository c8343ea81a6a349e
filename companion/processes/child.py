"""The inside of a worker process: take a request, run it, answer."""

from __future__ import annotations

import contextlib
import gc
import importlib
import inspect
import os
import pickle
import signal
import threading
import time
import traceback
from collections import deque
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Self

from companion.errors import Cancelled, CompanionError
from companion.processes.messages import (
    OUT_OF_MEMORY,
    OWN_FAULT,
    Done,
    Failed,
    Message,
    Part,
    Started,
    Stopped,
)
from companion.progress import Progress

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from multiprocessing.connection import Connection

REPORT_EVERY_SECONDS = 0.03
"""Progress is sent at most so often; cancelling is looked for at each report."""


NO_JOB = 0
"""Jobs are counted from 1: a message under this number is about the child itself."""


@dataclass(frozen=True, slots=True)
class Request:
    """A function to run with its arguments, pickled.

    Functions travel by name, so they must be importable. They are unpickled when the job runs, so
    that a name that the child cannot find fails this job and nothing else.
    """

    job_id: int
    call: bytes

    @classmethod
    def of(
        cls, job_id: int, function: Callable[..., object], arguments: tuple[object, ...]
    ) -> Self:
        """Pickle a call."""
        return cls(job_id, pickle.dumps((function, arguments), pickle.HIGHEST_PROTOCOL))


@dataclass(frozen=True, slots=True)
class CancelRequest:
    """Ask a running job to stop at its next report."""

    job_id: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a worker process may take: address space in bytes (None: no limit) and niceness."""

    memory_bytes: int | None = 4 << 30
    niceness: int = 5


def run_child(connection: Connection, limits: Limits, preload: Sequence[str]) -> None:
    """Serve requests until the parent goes away: the main function of the child."""
    _settle_in(limits)
    for module in preload:
        with contextlib.suppress(ImportError):  # the job that needs it will say so
            importlib.import_module(module)
    gc.freeze()  # what is loaded now stays: later collections need not look at it
    with contextlib.suppress(EOFError, OSError):  # the parent may be gone already
        connection.send_bytes(pickle.dumps((NO_JOB, Started())))
        _Server(connection).serve()


def _settle_in(limits: Limits) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the parent to handle
    threading.Thread(target=_end_with_parent, name="watch parent", daemon=True).start()
    with contextlib.suppress(OSError, AttributeError):
        os.nice(limits.niceness)
    if limits.memory_bytes is not None:
        # not there on Windows; a system may also forbid it: then there is no limit
        with contextlib.suppress(ImportError, ValueError, OSError):
            import resource

            resource.setrlimit(resource.RLIMIT_AS, (limits.memory_bytes, limits.memory_bytes))


def _end_with_parent() -> None:
    from multiprocessing import parent_process
    from multiprocessing.connection import wait

    parent = parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(0)  # the parent was killed: nobody is left to answer


class _Server:
    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._waiting: deque[Request] = deque()
        self._cancelled: set[int] = set()

    def serve(self) -> None:
        try:
            while True:
                while not self._waiting:
                    self._take(self._connection.recv())
                self._run(self._waiting.popleft())
        except (EOFError, OSError):
            return

    def _take(self, request: object) -> None:
        if isinstance(request, Request):
            self._waiting.append(request)
        elif isinstance(request, CancelRequest):
            self._cancelled.add(request.job_id)

    def _run(self, request: Request) -> None:
        self._cancelled.discard(request.job_id)
        channel = _Channel(self, request.job_id)
        try:
            function, arguments = pickle.loads(request.call)
            channel.send(Done(function(*arguments, **channel.extras(function))))
        except Cancelled:
            channel.send(Stopped())
        except CompanionError as error:
            channel.send(Failed(str(error)))
        except MemoryError:
            gc.collect()
            channel.send(Failed(OUT_OF_MEMORY))
        except (EOFError, BrokenPipeError):
            raise
        except Exception:  # noqa: BLE001 - the edge of the process: bugs are told to the parent
            channel.send(Failed(OWN_FAULT, is_bug=True, traceback=traceback.format_exc()))
        gc.collect()

    def is_cancelled(self, job_id: int) -> bool:
        while self._connection.poll():
            self._take(self._connection.recv())
        return job_id in self._cancelled

    def answer(self, job_id: int, message: Message) -> None:
        # pickled first: a value that cannot be pickled must not leave half a message in the pipe
        data = pickle.dumps((job_id, message), protocol=pickle.HIGHEST_PROTOCOL)
        self._connection.send_bytes(data)


class _Channel:
    """The ``report`` and ``emit`` of one job."""

    def __init__(self, server: _Server, job_id: int) -> None:
        self._server = server
        self._job_id = job_id
        self._last_report_seconds = -1.0

    def extras(self, function: Callable[..., object]) -> dict[str, Any]:
        parameters = inspect.signature(function).parameters
        offered = {"report": self.report, "emit": self.emit}
        return {name: call for name, call in offered.items() if name in parameters}

    def send(self, message: Message) -> None:
        self._server.answer(self._job_id, message)

    def report(self, progress: Progress) -> None:
        self._stop_if_cancelled()
        now = time.monotonic()
        if now - self._last_report_seconds >= REPORT_EVERY_SECONDS:
            self._last_report_seconds = now
            self.send(progress)

    def emit(self, value: object) -> None:
        self._stop_if_cancelled()
        self.send(Part(value))

    def _stop_if_cancelled(self) -> None:
        if self._server.is_cancelled(self._job_id):
            raise Cancelled
