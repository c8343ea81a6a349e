"""Looking after the history: what is done at the start, beside the playing, and when it is broken.

At the start :func:`open_history` opens the file and recovers takes that were cut off. A moment
later, in a thread that may wait for the disk, :func:`look_after` makes the copy of the day. When
the file is damaged, :func:`last_copy` says what can be put in its place and :func:`put_back` does.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from companion.errors import HistoryUnavailable
from companion.history.model import Take
from companion.storage.backups import day_of_backup, newest_sound_backup, restore_backup
from companion.storage.history_file import HistoryFile

_log = logging.getLogger(__name__)

BIN_KEPT_DAYS = 90
"""How long a take that was thrown away can be fetched back."""


@dataclass(frozen=True, slots=True)
class OpenedHistory:
    """The history, and the takes that were cut off when the program ended before they did."""

    history: HistoryFile
    recovered: tuple[Take, ...]

    @property
    def sentence(self) -> str:
        """What to tell the pianist; empty for nothing."""
        if not self.recovered:
            return ""
        notes = sum(take.note_count for take in self.recovered)
        return (
            "The program ended while you were playing. "
            f"What you had played was kept: {notes} {'note' if notes == 1 else 'notes'}."
        )


@dataclass(frozen=True, slots=True)
class LastCopy:
    """The newest sound copy of a history, with the day on which it was made."""

    path: Path
    day: date

    @property
    def sentence(self) -> str:
        """What to tell the pianist."""
        return (
            f"The last good copy of your practice history is of {self.day:%d %B %Y}. "
            "It can be put in the place of the damaged file, which is kept beside it."
        )


def open_history(path: Path) -> OpenedHistory:
    """Open the history and recover takes that were cut off.

    Raises
    ------
    HistoryUnavailable
        Or one of the errors below it, each with its sentence.
    """
    history = HistoryFile(path)
    try:
        return OpenedHistory(history, history.recover_open_takes())
    except BaseException:
        history.close()
        raise


def look_after(history: HistoryFile, today: date, now: datetime | None = None) -> str:
    """Make the copy of the day and empty the bin of what lay in it for long.

    For a thread that may wait: it takes about half a second for 2,000 takes, in which others go
    on writing.

    Returns
    -------
    str
        A sentence when no copy could be made, else empty. A damaged file is told here first.
    """
    try:
        history.back_up(today)
        history.empty_bin((now or datetime.now(UTC)) - timedelta(days=BIN_KEPT_DAYS))
        history.tidy()
    except HistoryUnavailable as error:
        _log.warning("The history could not be looked after: %s", error)
        return f"No copy of your practice history could be made today. {error}"
    return ""


def last_copy(path: Path) -> LastCopy | None:
    """Return the newest copy of a history that opens, None when there is none."""
    backup = newest_sound_backup(path)
    day = day_of_backup(backup) if backup is not None else None
    return LastCopy(backup, day) if backup is not None and day is not None else None


def put_back(path: Path, copy: LastCopy, now: datetime | None = None) -> OpenedHistory:
    """Put a copy in the place of a damaged history, which is kept aside, and open it.

    Raises
    ------
    HistoryUnavailable
        The copy cannot be read or the folder cannot be written.
    """
    aside = restore_backup(path, copy.path, now or datetime.now(UTC))
    _log.warning("The history was restored from %s; the old file is %s", copy.path, aside)
    return open_history(path)
