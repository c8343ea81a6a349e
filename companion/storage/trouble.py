"""SQLite's errors as sentences for the person at the piano."""

from __future__ import annotations

import errno
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from companion.errors import HistoryDamaged, HistoryInUse, HistoryUnavailable

_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}
_IN_USE = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_READ_ONLY = {sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH}
_LEAST_ROOM_BYTES = 65_536  # SQLite's file of shared memory has 32 KiB
_PRIMARY = 0xFF  # the low byte of an extended result code (SQLite manual, "Result and Error Codes")


@contextmanager
def told_plainly(path: Path) -> Iterator[None]:
    """Turn errors of SQLite and of the file system into :class:`HistoryUnavailable`."""
    try:
        yield
    except (sqlite3.IntegrityError, sqlite3.ProgrammingError, sqlite3.InterfaceError):
        raise  # ours: a bug, not a trouble of the disk
    except sqlite3.Error as error:
        raise sentence_for(error, path) from error
    except OSError as error:
        if isinstance(error, PermissionError) or error.errno == errno.EROFS:
            raise _read_only(path) from error
        if error.errno == errno.ENOSPC:
            raise _full(path) from error
        raise HistoryUnavailable(
            f"Your practice history cannot be used: {error.strerror or error} ({path})."
        ) from error


def sentence_for(error: sqlite3.Error, path: Path) -> HistoryUnavailable:
    """Return the error to raise for one that SQLite raised."""
    code = getattr(error, "sqlite_errorcode", None)
    primary = code & _PRIMARY if code is not None else None
    if primary in _DAMAGED:
        return HistoryDamaged(path)
    if primary in _IN_USE:
        return HistoryInUse(path)
    if primary == sqlite3.SQLITE_FULL:
        return _full(path)
    if primary == sqlite3.SQLITE_IOERR:
        return _full(path) if _has_no_room(path) else _failing(path)
    if primary in _READ_ONLY:
        return _read_only(path)
    if primary == sqlite3.SQLITE_CANTOPEN:
        return HistoryUnavailable(
            f"Your practice history cannot be opened or created ({path}). "
            "Check that its folder exists and that you may write there."
        )
    return HistoryUnavailable(f"Your practice history cannot be used ({path}): {error}.")


def _has_no_room(path: Path) -> bool:
    """SQLite calls it an I/O error when it finds no room for the files beside the history."""
    try:
        return shutil.disk_usage(path.parent).free < _LEAST_ROOM_BYTES
    except OSError:
        return False


def _failing(path: Path) -> HistoryUnavailable:
    return HistoryUnavailable(
        f"The disk with your practice history does not answer as it should ({path}). "
        "What you play now is kept until it can be written."
    )


def _full(path: Path) -> HistoryUnavailable:
    return HistoryUnavailable(
        f"The disk is full, so your practice history cannot be written ({path}). "
        "Make some room: what you play now is kept until it can be written."
    )


def _read_only(path: Path) -> HistoryUnavailable:
    return HistoryUnavailable(
        f"Your practice history may only be read, not written ({path}). "
        "Check the permissions of this file and of its folder."
    )
