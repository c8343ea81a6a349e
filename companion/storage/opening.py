"""Opening a history file: held against other programs, and brought to the present format."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

from companion.storage import backups
from companion.storage.connections import HistoryLock, open_connection
from companion.storage.migrations import Migration, check_format, migrate
from companion.storage.trouble import told_plainly


def locked(path: Path) -> HistoryLock:
    """Hold a history file; its folder is created when missing.

    Raises
    ------
    HistoryUnavailable
        Another window holds it, or its folder may not be written.
    """
    with told_plainly(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        lock = HistoryLock(path)
        lock.acquire()
        return lock


def bring_to_present_format(path: Path, migrations: Sequence[Migration]) -> None:
    """Make a new file, or bring an older one to the present format after copying it.

    Raises
    ------
    HistoryUnavailable
        Or one of the errors below it. The file is as it was.
    """
    with told_plainly(path):
        with closing(sqlite3.connect(path)) as connection:
            # Before anything of ours touches it: the file may be another program's.
            found = check_format(connection, migrations)
        if 0 < found < len(migrations):
            copy = backups.backup_folder(path) / (
                f"{path.stem}-before-format-{found + 1}{path.suffix}"
            )
            backups.copy_soundly(path, copy)
        with closing(open_connection(path)) as connection:
            migrate(connection, migrations)
            # Written once more, to know now whether the file can be written at all: SQLite opens a
            # read-only file without a word, and begins transactions on it.
            connection.execute(f"PRAGMA user_version = {len(migrations)}")
