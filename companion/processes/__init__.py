"""Long work in a process of its own, so that the window never waits.

Reading and engraving hold Python's global lock for half a second at a time; in a thread they would
freeze the window. A :class:`companion.processes.worker.WorkerProcess` is one warm child that runs
plain functions, one at a time, and sends back progress, parts of the result as they are ready, and
the result.

Nothing here knows Qt: a Qt notifier may watch ``WorkerProcess.fileno``, other callers use
``Job.wait`` or ``Job.result``. The package imports nothing by itself: every score needs
:mod:`companion.processes.values`, and the start of the window none of the rest.
"""
