"""One connection per thread to one history file.

Writers of this process take turns by a lock, so that a long import in one thread delays the
journal of another, but never makes SQLite give up. Other processes are kept out by
:class:`HistoryLock`; short locks of backup or browsing programs are waited for.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from weakref import WeakSet, finalize

from filelock import FileLock, Timeout

from companion.errors import HistoryInUse
from companion.storage.trouble import told_plainly

BUSY_TIMEOUT_SECONDS = 5.0
"""How long another program's lock is waited for; SQLite by itself does not wait."""


def open_connection(path: Path) -> sqlite3.Connection:
    """Open a history file with the settings that all our connections share."""
    connection = sqlite3.connect(
        path,
        timeout=BUSY_TIMEOUT_SECONDS,
        isolation_level=None,  # transactions are written out where they begin and end
        check_same_thread=False,  # so that closing the history closes those of other threads
    )
    try:
        # WAL with NORMAL: a killed process loses nothing that was committed; a power cut may lose
        # the last commits, never the file (SQLite manual, "PRAGMA synchronous").
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = NORMAL")
        connection.execute("PRAGMA foreign_keys = ON")
        # Moving the log into the file waits for the disk. SQLite would do it at some commit of any
        # thread, also the window's; see Connections.move_log_into_file.
        connection.execute("PRAGMA wal_autocheckpoint = 0")
    except BaseException:
        connection.close()
        raise
    return connection


class HistoryLock:
    """Held while a window has the history open: two would record each note twice.

    The operating system frees it when the process ends, however it ends.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = FileLock(
            path.with_name(path.name + ".lock"), timeout=0, thread_local=False, is_singleton=False
        )

    def acquire(self) -> None:
        """Take the lock or raise :class:`companion.errors.HistoryInUse`."""
        try:
            self._lock.acquire()
        except Timeout as error:
            raise HistoryInUse(self._path) from error

    def release(self) -> None:
        """Let the next one in."""
        self._lock.release()


class _Held:
    """A connection that is closed when the thread that used it has ended."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection
        # Not at the end of the program: the journal's thread may be at work then.
        finalize(self, connection.close).atexit = False


class Connections:
    """The connections of all threads to one file.

    Parameters
    ----------
    path
        The history file; it exists and has the newest format.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._of_this_thread = threading.local()
        self._all: WeakSet[_Held] = WeakSet()
        self._turn = threading.RLock()
        self._closed = False

    def _connection(self) -> sqlite3.Connection:
        held: _Held | None = getattr(self._of_this_thread, "held", None)
        if held is None:
            with self._turn:
                if self._closed:
                    raise RuntimeError("the history is closed")
                held = _Held(open_connection(self.path))
                self._all.add(held)
            self._of_this_thread.held = held
        return held.connection

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Give this thread's connection; troubles come out as sentences."""
        with told_plainly(self.path):
            yield self._connection()

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Give this thread's connection inside one transaction: all of it is kept, or nothing."""
        with self._turn, told_plainly(self.path):
            connection = self._connection()
            if _in_transaction(connection):  # part of a larger edit
                yield connection
                return
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
                connection.execute("COMMIT")
            except BaseException:
                if _in_transaction(connection):  # a full disk has rolled back already
                    connection.execute("ROLLBACK")
                raise

    def move_log_into_file(self) -> None:
        """Move as much of the log beside the file into it as can be done without holding it."""
        with self.reading() as connection:
            connection.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()

    def close(self) -> None:
        """Close the connections of all threads; none of them may be at work any more."""
        with self._turn:
            self._closed = True
            for held in tuple(self._all):
                held.connection.close()
            self._all.clear()


def _in_transaction(connection: sqlite3.Connection) -> bool:
    return connection.in_transaction
