"""Looking after the history: what is done at the start, beside the playing, and when it is broken.

At the start :func:`open_history` opens the file and recovers takes that were cut off;
:func:`open_or_stand_in` never fails for a file that cannot be used. A moment later, in a thread
that may wait for the disk, :func:`look_after` makes the copy of the day. When the file is damaged,
:func:`last_copy` says what can be put in its place and :func:`replace_damaged` does.
"""

from __future__ import annotations

import hashlib
import logging
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from companion.errors import HistoryDamaged, HistoryUnavailable
from companion.history.model import Take
from companion.storage.backups import (
    day_of_backup,
    newest_sound_backup,
    restore_backup,
    set_aside,
)
from companion.storage.history_file import HistoryFile

_log = logging.getLogger(__name__)

BIN_KEPT_DAYS = 90
"""How long a take that was thrown away can be fetched back."""


_STAND_INS = "stand-ins"

KEPT_ASIDE = (
    "What you play now is kept aside and put into your history by itself as soon as that can be "
    "written."
)


@dataclass(frozen=True, slots=True)
class OpenedHistory:
    """The history, and the takes that were cut off when the program ended before they did.

    Parameters
    ----------
    trouble
        Why ``history`` is only a stand-in; empty when it is the real one.
    damaged
        Whether the real one is damaged, so that something has to be put in its place.
    copy
        What can be put in the place of a damaged one.
    """

    history: HistoryFile
    recovered: tuple[Take, ...]
    trouble: str = ""
    damaged: bool = False
    copy: LastCopy | None = None

    @property
    def sentence(self) -> str:
        """What to tell the pianist; empty for nothing."""
        if self.trouble:
            return self.trouble
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


def stand_ins_folder(path: Path, cache_folder: Path) -> Path:
    """Where the stand-ins for one history lie."""
    name = hashlib.sha256(str(path.absolute()).encode()).hexdigest()[:16]
    return cache_folder / _STAND_INS / name


def is_stand_in(path: Path, cache_folder: Path) -> bool:
    """Whether a history file is only a stand-in: of it nothing but takes comes home."""
    return path.absolute().is_relative_to((cache_folder / _STAND_INS).absolute())


def open_or_stand_in(path: Path, cache_folder: Path) -> OpenedHistory:
    """Open the history, or a stand-in for one that cannot be used.

    Raises
    ------
    HistoryUnavailable
        Not even the cache folder can be written.
    """
    try:
        return open_history(path)
    except HistoryUnavailable as error:
        from companion.practice.stand_in import open_stand_in

        _log.warning("The history cannot be used: %s", error)
        damaged = isinstance(error, HistoryDamaged)
        copy = last_copy(path) if damaged else None
        stand_in = open_stand_in(path, cache_folder, damaged=damaged)
        told = [str(error), _what_is_seen(stand_in, copy), KEPT_ASIDE]
        return OpenedHistory(stand_in, (), " ".join(told), damaged, copy)


def _what_is_seen(stand_in: HistoryFile, copy: LastCopy | None) -> str:
    if not stand_in.shelf():
        return "Nothing of it can be shown."
    if copy is not None:
        return f"What you see is the last good copy of it, of {copy.day:%d %B %Y}."
    return "What you see is a copy of it."


@dataclass(frozen=True, slots=True)
class LookedAfter:
    """What came of looking after the history.

    Parameters
    ----------
    sentence
        What to tell the pianist; empty for nothing. A damaged file is told here first.
    brought
        Takes that had been kept aside at an earlier time and are in the history now.
    """

    sentence: str = ""
    brought: tuple[Take, ...] = ()


def look_after(
    history: HistoryFile,
    today: date,
    cache_folder: Path | None = None,
    now: datetime | None = None,
) -> LookedAfter:
    """Bring home what was kept aside, make the copy of the day, empty the bin of what is old.

    For a thread that may wait: it takes about half a second for 2,000 takes, in which others go
    on writing.
    """
    brought: tuple[Take, ...] = ()
    try:
        if cache_folder and stand_ins_folder(history.path, cache_folder).exists():
            from companion.practice.stand_in import bring_all_home

            brought = bring_all_home(history, cache_folder)
        history.back_up(today)
        history.empty_bin((now or datetime.now(UTC)) - timedelta(days=BIN_KEPT_DAYS))
        history.tidy()
    except HistoryUnavailable as error:
        _log.warning("The history could not be looked after: %s", error)
        return LookedAfter(
            f"No copy of your practice history could be made today. {error}", brought
        )
    if not brought:
        return LookedAfter()
    count = len(brought)
    takes = "A take that was" if count == 1 else f"{count} takes that were"
    return LookedAfter(
        f"{takes} kept aside while your history could not be written"
        f" {'is' if count == 1 else 'are'} in it now.",
        brought,
    )


def last_copy(path: Path) -> LastCopy | None:
    """Return the newest copy of a history that opens, None when there is none."""
    backup = newest_sound_backup(path)
    day = day_of_backup(backup) if backup is not None else None
    return LastCopy(backup, day) if backup is not None and day is not None else None


def replace_damaged(
    history: HistoryFile,
    path: Path,
    copy: LastCopy | None,
    cache_folder: Path,
    now: datetime | None = None,
) -> int:
    """Put a copy in the place of a damaged history, which is kept aside, and go on with it.

    Whoever holds ``history`` goes on with the file at ``path``. What was played since the copy was
    made is put there too: the takes of the stand-in, and those that can still be read in the
    damaged file.

    Parameters
    ----------
    history
        The damaged history, or the stand-in for it.
    copy
        None begins a new history.

    Returns
    -------
    int
        How many takes were saved besides those of the copy.

    Raises
    ------
    HistoryUnavailable
        The copy cannot be read or the folder cannot be written; everything is as it was.
    """
    from companion.practice.stand_in import bring_home, salvage, throw_away

    moment = now or datetime.now(UTC)
    stand_in = history.path if history.path != path else None
    aside: list[Path | None] = []

    def prepare() -> None:
        aside.append(
            set_aside(path, moment) if copy is None else restore_backup(path, copy.path, moment)
        )

    history.go_on_with(path, prepare)
    _log.warning("The history was replaced by %s; the old file is %s", copy, aside)
    brought = 0
    try:
        if stand_in is not None:
            with HistoryFile(stand_in) as left:
                brought += len(bring_home(history, left))
            throw_away(stand_in)
        for damaged in aside:
            if damaged is not None:
                brought += len(salvage(history, damaged, cache_folder))
    except HistoryUnavailable as error:
        _log.warning("Not all takes could be put into the new history: %s", error)
    return brought
