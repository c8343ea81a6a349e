"""The other history: a copy of it, brought to the present format and looked through.

The file itself is only read. Whatever is in it was written by somebody else: nothing of it is used
before every row has been looked at, so that a damaged or a hostile file changes nothing.
"""

from __future__ import annotations

import hashlib
import json
import math
import sqlite3
import stat
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from companion.errors import CompanionError, HistoryTooNew, HistoryUnavailable
from companion.history.model import TakeSource
from companion.progress import Progress, Report, no_report
from companion.score.model import Hand
from companion.storage import takes
from companion.storage.backups import is_sound
from companion.storage.connections import open_connection
from companion.storage.migrations import MIGRATIONS, check_format, migrate
from companion.storage.moments import moment_to_text, text_to_moment
from companion.storage.sections import text_to_section_map
from companion.storage.snapshots import copy_what_is_there

_LONGEST_WORDS = 100_000
"""Letters of a name or a remark: nobody writes more, and the window shows them."""

_LONGEST_VALUE_BYTES = 64 << 20
"""Bytes of one value; the largest score that is opened has as many."""

_WHAT_BROKEN_VALUES_RAISE = (
    ValueError, TypeError, LookupError, ArithmeticError, AttributeError, RecursionError
)  # fmt: skip

_LAST_YEAR = 2999
_HASH_LETTERS = 64  # SHA-256 in hexadecimal digits


class HistoryNotMerged(CompanionError):
    """Another history cannot be merged; nothing was changed."""


@contextmanager
def other_history(
    path: Path, scratch_folder: Path, report: Report = no_report
) -> Iterator[sqlite3.Connection]:
    """Give a connection to a copy of another history, which has the present format.

    Raises
    ------
    HistoryNotMerged
        It is not there, no history, damaged, or was written by a newer program.
    """
    report(Progress(done=0, total=0, doing="Looking through the other history"))
    if not _is_regular_file(path):
        raise HistoryNotMerged(f"There is no practice history “{path.name}”.")
    try:
        scratch_folder.mkdir(parents=True, exist_ok=True)
        folder = TemporaryDirectory(dir=scratch_folder, prefix="merging-")
    except OSError as error:
        raise HistoryNotMerged(
            f"There is no room to copy the other history: {error.strerror or error}."
        ) from error
    with folder as name:
        copy = Path(name) / "other.sqlite3"
        try:
            is_there = copy_what_is_there(path, copy)
        except _WHAT_BROKEN_VALUES_RAISE as error:
            raise damaged(path) from error
        if not is_there:
            raise damaged(path)
        with closing(_opened(path, copy, report)) as connection:
            yield connection


def damaged(path: Path) -> HistoryNotMerged:
    """Return the error for a file that cannot be trusted."""
    return HistoryNotMerged(
        f"“{path.name}” is damaged, or is no practice history. Nothing was changed."
    )


def _is_regular_file(path: Path) -> bool:
    try:
        return stat.S_ISREG(path.stat().st_mode)
    except (OSError, ValueError):
        return False


def _opened(path: Path, copy: Path, report: Report) -> sqlite3.Connection:
    try:
        with closing(sqlite3.connect(copy)) as connection:
            if check_format(connection) == 0:  # an empty file: there is nothing to merge
                raise damaged(path)
        connection = open_connection(copy)
    except HistoryTooNew as error:
        raise HistoryNotMerged(
            f"“{path.name}” was written by a newer version of this program (format {error.found}; "
            f"this one reads up to {error.known}). Nothing was changed: please merge with the "
            "newer program."
        ) from error
    except (sqlite3.Error, HistoryUnavailable, *_WHAT_BROKEN_VALUES_RAISE) as error:
        # SQLite's own messages quote the broken text, which may be no UTF-8: a ValueError
        raise damaged(path) from error
    try:
        _look_through(connection, report)
    except (sqlite3.Error, CompanionError, *_WHAT_BROKEN_VALUES_RAISE) as error:
        connection.close()
        raise damaged(path) from error
    except BaseException:
        connection.close()
        raise
    return connection


def _look_through(connection: sqlite3.Connection, report: Report) -> None:
    """Make sure that the copy is what this program would have written; raises what it meets."""
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, _LONGEST_VALUE_BYTES + 4096)
    connection.execute("PRAGMA trusted_schema = OFF")
    if not is_sound(connection):
        raise ValueError("the structure of the file is broken")
    migrate(connection)
    if _schema(connection) != _schema_of_ours():
        raise ValueError("the tables are not ours")
    takes.recover_open_takes(connection)
    if connection.execute("PRAGMA foreign_key_check").fetchone() is not None:
        raise ValueError("something refers to what is not there")
    checks = (
        _check_pieces, _check_score_files, _check_maps, _check_documents, _check_takes, _check_words
    )  # fmt: skip
    for done, check in enumerate(checks):
        report(Progress(done=done, total=len(checks), doing="Looking through the other history"))
        check(connection)


def _schema(connection: sqlite3.Connection) -> dict[str, str]:
    rows = connection.execute(
        "SELECT type || ' ' || name, sql FROM sqlite_schema WHERE substr(name, 1, 7) <> 'sqlite_'"
    )
    return dict(rows.fetchall())


def _schema_of_ours() -> dict[str, str]:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        migrate(connection, MIGRATIONS)
        return _schema(connection)


def _check_pieces(connection: sqlite3.Connection) -> None:
    rows = connection.execute(
        """
        SELECT added_at, opened_at, removed_at, performance_date, hands, view,
            piece_id, title, composer, score_hash, score_path, part
        FROM pieces
        """
    )
    for added_at, opened_at, removed_at, performance_date, hands, view, *words in rows:
        _check_moments(added_at, opened_at, removed_at)
        if performance_date is not None and date.fromisoformat(performance_date).year > _LAST_YEAR:
            raise ValueError("a date is out of reach")
        chosen = json.loads(hands)
        if not isinstance(chosen, Mapping):
            raise TypeError("hands are chosen by note")
        for hand in chosen.values():
            Hand(hand)
        _check_words_of(*words, view)


def _check_score_files(connection: sqlite3.Connection) -> None:
    for score_hash, file_name, content in connection.execute(
        "SELECT score_hash, file_name, content FROM score_files"
    ):
        _check_words_of(score_hash, file_name)
        if len(score_hash) == _HASH_LETTERS and hashlib.sha256(content).hexdigest() != score_hash:
            raise ValueError("a score is not the one it says it is")


def _check_maps(connection: sqlite3.Connection) -> None:
    for saved_at, content in connection.execute("SELECT saved_at, content FROM section_maps"):
        _check_moments(saved_at)
        text_to_section_map(content)


def _check_documents(connection: sqlite3.Connection) -> None:
    # contents are read too: text that is no UTF-8 must come to light here, not in the middle
    for changed_at, kind, _content in connection.execute(
        "SELECT changed_at, kind, content FROM piece_documents"
    ):
        _check_moments(changed_at)
        _check_words_of(kind)
    for happened_at, _content, *words in connection.execute(
        "SELECT happened_at, content, entry_id, kind, zone FROM entries"
    ):
        _check_moments(happened_at)
        _check_words_of(*words)


def _check_takes(connection: sqlite3.Connection) -> None:
    rows = connection.execute(
        """
        SELECT started_at, deleted_at, source, duration_seconds, note_count, state,
            from_memory, take_id, zone, instrument, name, remark, content_hash
        FROM takes
        """
    )
    for (
        started_at, deleted_at, source, duration_seconds, note_count, state, from_memory, *words
    ) in rows:  # fmt: skip
        _check_moments(started_at, deleted_at)
        TakeSource(source)
        if not (math.isfinite(duration_seconds) and duration_seconds >= 0 and note_count >= 0):
            raise ValueError("a take cannot be so long")
        if state != "closed":
            raise ValueError("a take is still being played")
        if from_memory not in (0, 1):
            raise ValueError("a take is played from memory or not")
        _check_words_of(*words)


def _check_words(connection: sqlite3.Connection) -> None:
    for said_at, subject, field in connection.execute("SELECT said_at, subject, field FROM words"):
        _check_moments(said_at)
        _check_words_of(subject, field)


def _check_moments(*texts: str | None) -> None:
    for text in texts:
        if text is None:
            continue
        moment = text_to_moment(text)
        if moment_to_text(moment) != text or moment.year > _LAST_YEAR:
            raise ValueError("a moment is not written as moments are")


def _check_words_of(*texts: str) -> None:
    for text in texts:
        if len(text) > _LONGEST_WORDS:
            raise ValueError("a text is far too long")
