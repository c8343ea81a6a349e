"""One connection per thread to one history file.

Writers of this process take turns by a lock, so that a long import in one thread delays the
journal of another, but never makes SQLite give up. Other processes are kept out by
:class:`HistoryLock`; short locks of backup or browsing programs are waited for. The file itself is
exchanged only while no thread is at work on it (:meth:`Connections.exchange`).

A file that is deleted or moved away while it is open lives on in the connections, and what is
written then would be gone with them. So each writing looks whether the file is in its place, and
writes it there again from what is open (:mod:`companion.storage.writing_again`).
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from weakref import WeakSet, finalize

from filelock import FileLock, Timeout

from companion.errors import HistoryDamaged, HistoryInUse, HistoryUnavailable
from companion.storage.trouble import told_plainly
from companion.storage.writing_again import (
    Identity,
    exchanged,
    identity_of,
    keep_aside,
    log_of,
    write_again,
)

BUSY_TIMEOUT_SECONDS = 5.0
"""How long another program's lock is waited for; SQLite by itself does not wait."""

EXCHANGE_SECONDS = 10.0
"""How long an exchange of the file waits for the threads that are at work on the old one."""


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


class _Gate:
    """Lets any number of threads in, or one alone."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._inside: dict[int, int] = {}  # how often each thread went in: an edit holds others
        self._alone: int | None = None

    @contextmanager
    def inside(self) -> Iterator[None]:
        me = threading.get_ident()
        with self._changed:
            if me not in self._inside:
                self._changed.wait_for(lambda: self._alone in (None, me))
            self._inside[me] = self._inside.get(me, 0) + 1
        try:
            yield
        finally:
            with self._changed:
                self._inside[me] -= 1
                if not self._inside[me]:
                    del self._inside[me]
                    self._changed.notify_all()

    @contextmanager
    def alone(self, timeout_seconds: float) -> Iterator[bool]:
        """Wait until everybody has gone; False when that took too long."""
        with self._changed:
            free = self._changed.wait_for(
                lambda: self._alone is None and not self._inside, timeout_seconds
            )
            if free:
                self._alone = threading.get_ident()
        try:
            yield free
        finally:
            if free:
                with self._changed:
                    self._alone = None
                    self._changed.notify_all()


class _Held:
    """A connection that is closed when the thread that used it has ended."""

    def __init__(self, connection: sqlite3.Connection, of: Identity | None) -> None:
        self.connection = connection
        self.of = of  # the file that it was opened on
        self.closed = False
        # Not at the end of the program: the journal's thread may be at work then.
        finalize(self, connection.close).atexit = False


class Connections:
    """The connections of all threads to one file.

    Parameters
    ----------
    path
        The history file; it exists and has the newest format.
    on_damage
        Called whenever the file is found damaged, in the thread that met it, before the error.
    on_written_again
        Called when the file had gone and was written again, in the thread that met it.
    """

    def __init__(self, path: Path, on_damage: Callable[[], None] = lambda: None) -> None:
        self.path = path
        self.on_damage = on_damage
        self.on_written_again: Callable[[], None] = lambda: None
        self._identity = identity_of(path)
        self._log: Identity | None = None
        self._kept_aside = False
        self._of_this_thread = threading.local()
        self._all: WeakSet[_Held] = WeakSet()
        self._turn = threading.RLock()
        self._gate = _Gate()
        self._closed = False

    def _connection(self) -> sqlite3.Connection:
        held: _Held | None = getattr(self._of_this_thread, "held", None)
        if held is None or held.closed or held.of != self._identity:
            with self._turn:
                if self._closed:
                    raise RuntimeError("the history is closed")
                self._see_to_the_file()
                held = _Held(open_connection(self.path), self._identity)
                self._all.add(held)
            self._of_this_thread.held = held
        return held.connection

    def _see_to_the_file(self) -> None:
        """Write the file again where it has gone; a thread opens and writes only after this."""
        found = identity_of(self.path)
        if found == self._identity:
            self._log = identity_of(log_of(self.path))
            return
        open_ones = [held.connection for held in self._all if not held.closed]
        if found is not None:
            if not self._kept_aside:
                keep_aside(self.path, open_ones, self._log)
                self._kept_aside = True
            raise exchanged(self.path)
        write_again(self.path, open_ones)
        self._identity = identity_of(self.path)  # all threads open it anew
        self.on_written_again()

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            with told_plainly(self.path):
                yield
        except HistoryDamaged:
            self.on_damage()
            raise

    @contextmanager
    def at_work(self) -> Iterator[None]:
        """Keep the file from being exchanged meanwhile; troubles come out as sentences."""
        with self._gate.inside(), self._told():
            yield

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Give this thread's connection; troubles come out as sentences."""
        with self.at_work():
            yield self._connection()

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Give this thread's connection inside one transaction: all of it is kept, or nothing."""
        with self._gate.inside(), self._turn, self._told():
            connection = self._connection()
            if _in_transaction(connection):  # part of a larger edit
                yield connection
                return
            self._see_to_the_file()
            connection = self._connection()
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

    def exchange(self, prepare: Callable[[], Path]) -> None:
        """Put another file in the place of this one, while no thread is at work on either.

        Parameters
        ----------
        prepare
            Called with all connections closed; returns the path to go on with.

        Raises
        ------
        HistoryUnavailable
            Some thread did not come to an end; nothing was changed.
        """
        with self._gate.alone(EXCHANGE_SECONDS) as free:
            if not free:
                raise HistoryUnavailable(
                    "Your practice history is at work and could not be exchanged. Try again."
                )
            self._close_all()
            try:
                self.path = prepare()
            finally:
                self._identity = identity_of(self.path)

    def close(self) -> None:
        """Close the connections of all threads; none of them may be at work any more."""
        with self._turn:
            self._closed = True
            self._close_all()

    def _close_all(self) -> None:
        with self._turn:
            for held in tuple(self._all):
                held.closed = True
                held.connection.close()
            self._all.clear()


def _in_transaction(connection: sqlite3.Connection) -> bool:
    return connection.in_transaction
