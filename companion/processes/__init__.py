"""Long work in a process of its own, so that the window never waits.

Reading and engraving hold Python's global lock for half a second at a time; in a thread they would
freeze the window. A :class:`WorkerProcess` is one warm child that runs plain functions, one at a
time, and sends back progress, parts of the result as they are ready, and the result.

This module knows no Qt: a Qt notifier may watch :meth:`WorkerProcess.fileno`, other callers use
:meth:`Job.wait` or :meth:`Job.result`.
"""

from companion.processes.messages import Done, Failed, Message, Part, Stopped
from companion.processes.worker import Job, WorkerProcess

__all__ = ["Done", "Failed", "Job", "Message", "Part", "Stopped", "WorkerProcess"]
