"""A history file that was deleted or moved away while it is open, written again in its place.

Where files can be deleted while they are open (POSIX), the connections still have all of it.
"""

from __future__ import annotations

import logging
import os
import sqlite3
from collections.abc import Iterable
from pathlib import Path

from companion.errors import HistoryUnavailable

_log = logging.getLogger(__name__)

Identity = tuple[int, int]
"""Which file it is, whatever its name: device and number of the file there (POSIX, ``stat``)."""


def identity_of(path: Path) -> Identity | None:
    """Return which file lies in a place; None for none."""
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_dev, status.st_ino


def log_of(path: Path) -> Path:
    """Return the place of SQLite's log beside a file (SQLite manual, "WAL-mode File Format")."""
    return path.with_name(f"{path.name}-wal")


def exchanged(path: Path) -> HistoryUnavailable:
    """Return the error for a file in whose place another one was put."""
    return HistoryUnavailable(
        f"Another file was put in the place of your practice history while it was open ({path}). "
        "What was there is kept beside it. Close this window and open it again: what you play "
        "until then is kept and added."
    )


def write_again(path: Path, connections: Iterable[sqlite3.Connection]) -> None:
    """Write a file that has gone from what a connection to it still has.

    Raises
    ------
    HistoryUnavailable
        Nobody has it open.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    unfinished = _written_beside(path, connections)
    # the log of the file that has gone would be taken for that of the new one
    _remove_log(path)
    unfinished.replace(path)
    _log.warning("The history had gone and was written again: %s", path)


def keep_aside(path: Path, connections: Iterable[sqlite3.Connection], log: Identity | None) -> None:
    """Write what a connection still has beside the file that was put in its place.

    ``log`` is the log of the file that was there: SQLite would take it for that of the new one.
    """
    number = 1
    while (aside := path.with_name(f"{path.stem}-set-aside-{number}{path.suffix}")).exists():
        number += 1
    _written_beside(path, connections).replace(aside)
    if log is not None and identity_of(log_of(path)) == log:
        _remove_log(path)
    _log.warning("Another file is in the place of the history, which was written to %s", aside)


def _remove_log(path: Path) -> None:
    for ending in ("-wal", "-shm"):
        path.with_name(path.name + ending).unlink(missing_ok=True)


def _written_beside(path: Path, connections: Iterable[sqlite3.Connection]) -> Path:
    unfinished = path.with_name(f".{path.name}.{os.getpid()}.part")
    for connection in connections:
        if not connection.in_transaction:
            unfinished.unlink(missing_ok=True)
            connection.execute("VACUUM INTO ?", (str(unfinished),))
            return unfinished
    raise HistoryUnavailable(
        f"Your practice history was deleted or moved while it was open ({path})."
    )
