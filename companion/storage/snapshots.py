"""A copy of a history as far as it can be read, wherever it lies and whoever holds it."""

from __future__ import annotations

import logging
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

_log = logging.getLogger(__name__)

_WAIT_SECONDS = 1.0


def copy_what_is_there(path: Path, copy: Path) -> bool:
    """Copy a history that others may hold, or that may only be read; say whether that worked.

    Never raises for what is wrong with the file: then there is no copy.
    """
    try:
        copy.parent.mkdir(parents=True, exist_ok=True)
        if not path.is_file():
            return False
        try:
            _copy_as_database(path, copy)
        except sqlite3.Error:
            # In a folder that may not be written SQLite cannot read along with a writer (SQLite
            # manual, "Read-Only WAL Databases"): the bytes can be copied, with the log beside them.
            _copy_bytes(path, copy)
    except (sqlite3.Error, OSError) as error:
        _log.warning("The history could not be copied for reading: %s", error)
        copy.unlink(missing_ok=True)
        return False
    return True


def _copy_as_database(path: Path, copy: Path) -> None:
    with (
        closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as source,
        closing(sqlite3.connect(copy)) as target,
    ):
        source.execute(f"PRAGMA busy_timeout = {round(_WAIT_SECONDS * 1000)}")
        source.backup(target, pages=-1)


def _copy_bytes(path: Path, copy: Path) -> None:
    for ending in ("", "-wal"):
        part = path.with_name(path.name + ending)
        if part.exists():
            shutil.copyfile(part, copy.with_name(copy.name + ending))
