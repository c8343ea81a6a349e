"""Bringing a history file to the format of this program.

``PRAGMA user_version`` holds the format of the file. A migration is a function that takes a file
from one format to the next, in one transaction together with the new number: a step that fails
leaves the file as it was. To add one, write the function, append it to :data:`MIGRATIONS`, and put
a sample file of the last released format into ``tests/golden/databases``.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence

from companion.errors import HistoryTooNew, HistoryUnavailable
from companion.storage.schema import (
    APPLICATION_ID,
    FORMAT_1,
    FORMAT_2,
    FORMAT_3,
    FORMAT_4,
    FORMAT_5,
)

Migration = Callable[[sqlite3.Connection], None]


def _to_format_1(connection: sqlite3.Connection) -> None:
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    for statement in FORMAT_1:
        connection.execute(statement)


def _to_format_2(connection: sqlite3.Connection) -> None:
    for statement in FORMAT_2:
        connection.execute(statement)


def _to_format_3(connection: sqlite3.Connection) -> None:
    for statement in FORMAT_3:
        connection.execute(statement)


def _to_format_4(connection: sqlite3.Connection) -> None:
    for statement in FORMAT_4:
        connection.execute(statement)


def _to_format_5(connection: sqlite3.Connection) -> None:
    for statement in FORMAT_5:
        connection.execute(statement)


MIGRATIONS: tuple[Migration, ...] = (
    _to_format_1,
    _to_format_2,
    _to_format_3,
    _to_format_4,
    _to_format_5,
)
"""Migration number n (from 1) leads from format n - 1 to format n; format 0 is an empty file."""


def format_of(connection: sqlite3.Connection) -> int:
    """Return the format of a file, 0 for an empty one."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def check_format(
    connection: sqlite3.Connection, migrations: Sequence[Migration] = MIGRATIONS
) -> int:
    """Return the format of a file that this program may open.

    Raises
    ------
    HistoryTooNew
        When a newer program wrote it.
    HistoryUnavailable
        When it is some other program's file.
    """
    found = format_of(connection)
    application = int(connection.execute("PRAGMA application_id").fetchone()[0])
    holds_tables = connection.execute("SELECT 1 FROM sqlite_schema LIMIT 1").fetchone() is not None
    if holds_tables and application != APPLICATION_ID:
        raise HistoryUnavailable(
            "The chosen file is not a practice history: another program wrote it. "
            "Nothing was changed."
        )
    if found > len(migrations):
        raise HistoryTooNew(found, len(migrations))
    return found


def migrate(connection: sqlite3.Connection, migrations: Sequence[Migration] = MIGRATIONS) -> None:
    """Bring an open file to the newest format, one transaction for each step."""
    for number in range(check_format(connection, migrations) + 1, len(migrations) + 1):
        connection.execute("BEGIN IMMEDIATE")
        try:
            if format_of(connection) < number:  # another thread may have been quicker
                migrations[number - 1](connection)
                connection.execute(f"PRAGMA user_version = {number}")
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise
