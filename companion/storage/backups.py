"""Copies of the history beside it: one a day, thinned out as they grow older.

Copies are whole history files named ``history-2026-11-25.sqlite3`` in the folder ``backups`` beside
the history. A copy is made of a sound file only, under another name first, so that a damaged
history or a full disk never costs an older copy.
"""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from datetime import date, datetime
from pathlib import Path

from companion.errors import HistoryDamaged, HistoryUnavailable
from companion.storage.migrations import check_format
from companion.storage.trouble import told_plainly

_log = logging.getLogger(__name__)

DAYS_KEPT = 7
WEEKS_KEPT = 4
MONTHS_KEPT = 12
"""How many daily, weekly and monthly copies are kept (common practice)."""

_ENDING = ".sqlite3"


def backup_folder(path: Path) -> Path:
    """Where the copies of a history file lie."""
    return path.parent / "backups"


def backups_of(path: Path) -> tuple[Path, ...]:
    """Return the daily copies of a history file, newest first."""
    return tuple(backup for _, backup in sorted(_dated(path), reverse=True))


def back_up(path: Path, today: date) -> Path | None:
    """Copy the history unless today's copy exists, then thin out old copies.

    Takes a snapshot while others go on writing; on a connection of its own, for any thread.

    Returns
    -------
    Path or None
        The new copy, None when there was one.

    Raises
    ------
    HistoryDamaged
        The file is broken; no copy was made or thrown away.
    HistoryUnavailable
        The copy cannot be written.
    """
    copy = backup_folder(path) / f"{path.stem}-{today.isoformat()}{_ENDING}"
    if copy.exists():
        return None
    copy_soundly(path, copy)
    thin_out(path, today)
    return copy


def copy_soundly(path: Path, copy: Path) -> None:
    """Copy a history file with SQLite's backup, check the copy, and only then give it its name."""
    unfinished = copy.with_name(copy.name + ".unfinished")
    with told_plainly(path):
        copy.parent.mkdir(parents=True, exist_ok=True)
        unfinished.unlink(missing_ok=True)
        try:
            with (
                closing(sqlite3.connect(path)) as source,
                closing(sqlite3.connect(unfinished)) as target,
            ):
                # All pages in one step: a snapshot. In several steps SQLite would start again at
                # each write of the journal (SQLite manual, "sqlite3_backup_step").
                source.backup(target, pages=-1)
                target.execute("PRAGMA journal_mode = DELETE")  # one file, without companions
                if not is_sound(target):
                    raise HistoryDamaged(path)
            unfinished.replace(copy)
        finally:
            unfinished.unlink(missing_ok=True)


def is_sound(connection: sqlite3.Connection) -> bool:
    """Say whether SQLite finds no fault in the structure of a file."""
    row = connection.execute("PRAGMA quick_check(1)").fetchone()
    return bool(row[0] == "ok")


def thin_out(path: Path, today: date) -> None:
    """Remove copies that are neither of the last days nor the last of a recent week or month."""
    copies = dict(_dated(path))
    kept = days_to_keep(copies, today)
    for day, copy in copies.items():
        if day not in kept:
            try:
                copy.unlink()
            except OSError:
                _log.warning("An old copy of the history could not be removed: %s", copy)


def days_to_keep(days: Iterable[date], today: date) -> frozenset[date]:
    """Choose the copies to keep: the newest of each recent day, week (Monday first) and month.

    Copies of a day after ``today`` are kept: the clock may have been wrong.
    """
    newest_first = sorted(days, reverse=True)
    future = [day for day in newest_first if day > today]
    past = [day for day in newest_first if day <= today]
    of_weeks: dict[tuple[int, int], date] = {}
    of_months: dict[tuple[int, int], date] = {}
    for day in past:
        of_weeks.setdefault(day.isocalendar()[:2], day)
        of_months.setdefault((day.year, day.month), day)
    return frozenset(
        [
            *future,
            *past[:DAYS_KEPT],
            *list(of_weeks.values())[:WEEKS_KEPT],
            *list(of_months.values())[:MONTHS_KEPT],
        ]
    )


def restore_backup(path: Path, backup: Path, now: datetime) -> Path | None:
    """Put a copy in the place of the history; the present file is kept aside, never deleted.

    The history must be closed.

    Returns
    -------
    Path or None
        Where the present file lies now, None when there was none.
    """
    with told_plainly(path):
        with closing(sqlite3.connect(f"{backup.as_uri()}?mode=ro", uri=True)) as connection:
            check_format(connection)
            if not is_sound(connection):
                raise HistoryDamaged(backup)
        aside = set_aside(path, now)
        try:
            copy_soundly(backup, path)
        except BaseException:
            if aside is not None:
                _rename_with_companions(aside, path)
            raise
    return aside


def set_aside(path: Path, now: datetime) -> Path | None:
    """Rename a history file and what SQLite keeps beside it; return its new name."""
    if not path.exists():
        return None
    aside = path.with_name(f"{path.stem}-set-aside-{now:%Y-%m-%d-%H%M%S}{path.suffix}")
    number = 1
    while aside.exists():
        number += 1
        aside = path.with_name(f"{path.stem}-set-aside-{now:%Y-%m-%d-%H%M%S}-{number}{path.suffix}")
    with told_plainly(path):
        _rename_with_companions(path, aside)
    return aside


def _rename_with_companions(path: Path, target: Path) -> None:
    for ending in ("-wal", "-shm", ""):
        part = path.with_name(path.name + ending)
        if part.exists():
            part.rename(target.with_name(target.name + ending))


def newest_sound_backup(path: Path) -> Path | None:
    """Return the newest copy that this program can open, None when there is none."""
    for backup in backups_of(path):
        try:
            with (
                told_plainly(backup),
                closing(sqlite3.connect(f"{backup.as_uri()}?mode=ro", uri=True)) as connection,
            ):
                check_format(connection)
                if is_sound(connection):
                    return backup
        except HistoryUnavailable:
            continue
    return None


def day_of_backup(backup: Path) -> date | None:
    """Return the day on which a copy was made, None for a file of another name."""
    try:
        return date.fromisoformat(backup.stem[-10:])
    except ValueError:
        return None


def _dated(path: Path) -> list[tuple[date, Path]]:
    found = []
    for copy in backup_folder(path).glob(f"{path.stem}-*{_ENDING}"):
        day = day_of_backup(copy)
        if day is not None and copy.stem == f"{path.stem}-{day.isoformat()}":
            found.append((day, copy))
    return found
