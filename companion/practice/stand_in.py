"""A stand-in for a history that cannot be used: the sitting goes on, and nothing played is lost.

The history may be open in another window, read-only, damaged or too new. Then the program works in
a file of its own beside the cache, the stand-in: it begins as a copy of what can be read (the file
itself, or the last good copy of a damaged one), and what is played is journalled there as ever.
As soon as the history can be written, :func:`bring_home` puts the takes into it: when the copy is
put back, when the window closes, or, after a program that was killed, at a later start.
"""

from __future__ import annotations

import contextlib
import logging
import shutil
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from companion.errors import CompanionError, HistoryInUse, HistoryUnavailable
from companion.history.model import Piece, Take, TakeSource, new_id
from companion.practice.history_care import stand_ins_folder
from companion.practice.imports import is_known
from companion.storage.backups import newest_sound_backup
from companion.storage.history_file import HistoryFile
from companion.storage.snapshots import copy_what_is_there

_log = logging.getLogger(__name__)

_FILE = "history.sqlite3"

Found = TypeVar("Found")


def open_stand_in(path: Path, cache_folder: Path, *, damaged: bool = False) -> HistoryFile:
    """Open a new stand-in for the history at a path, with what can be read of it.

    Parameters
    ----------
    damaged
        Take the last good copy instead of the file itself.

    Raises
    ------
    HistoryUnavailable
        The cache folder cannot be written either.
    """
    stand_in = stand_ins_folder(path, cache_folder) / new_id() / _FILE
    source = newest_sound_backup(path) if damaged else path
    if source is not None:
        copy_what_is_there(source, stand_in)
    try:
        return HistoryFile(stand_in)
    except HistoryUnavailable:
        throw_away(stand_in)  # a copy that this program cannot use: begin empty
        return HistoryFile(stand_in)


def throw_away(stand_in: Path) -> None:
    """Remove a stand-in (the path of its file) whose takes are at home; it must be closed."""
    shutil.rmtree(stand_in.parent, ignore_errors=True)
    for folder in (stand_in.parent.parent, stand_in.parent.parent.parent):
        with contextlib.suppress(OSError):  # others lie there
            folder.rmdir()


def not_at_home(history: HistoryFile, stand_in: HistoryFile) -> tuple[Take, ...]:
    """Takes of a stand-in that the history does not have, with their events, oldest first."""
    known = set(history.take_ids())
    return tuple(_takes(stand_in, (one for one in stand_in.take_ids() if one not in known)))


def played_in(stand_in: HistoryFile, since_ids: Iterable[str]) -> tuple[Take, ...]:
    """Takes of a stand-in besides those it began with, with their events, oldest first."""
    began_with = set(since_ids)
    return tuple(_takes(stand_in, (one for one in stand_in.take_ids() if one not in began_with)))


def bring_home(history: HistoryFile, stand_in: HistoryFile) -> tuple[Take, ...]:
    """Put the takes of a stand-in into the history; return those that were new there.

    Pieces that are new come with their score files, sections and hands; a take that another window
    recorded from the same piano is not put in twice.

    Raises
    ------
    HistoryUnavailable
        The history cannot be written; it is as it was.
    """
    homes: dict[str | None, str | None] = {None: None}
    brought = []
    for take in not_at_home(history, stand_in):
        if is_known(history, take):
            continue
        if take.piece_id not in homes:
            homes[take.piece_id] = _home_of(history, stand_in, take.piece_id)
        brought.append(replace(take, piece_id=homes[take.piece_id]))
    history.save_takes(brought)
    return tuple(brought)


def keep_aside(takes: Iterable[Take], piece: Piece | None, path: Path, cache_folder: Path) -> None:
    """Keep takes that the history could not take in until a later start.

    Parameters
    ----------
    piece
        The piece on the stand; takes of other pieces are filed anew when they come home.

    Raises
    ------
    HistoryUnavailable
        There is no room for them either.
    """
    with HistoryFile(stand_ins_folder(path, cache_folder) / new_id() / _FILE) as stand_in:
        if piece is not None:
            stand_in.save_piece(piece)
        stand_in.save_takes(takes)


def bring_all_home(history: HistoryFile, cache_folder: Path) -> tuple[Take, ...]:
    """Put the takes of all stand-ins that were left behind into the history.

    A stand-in that another window works with is left alone.

    Raises
    ------
    HistoryUnavailable
        The history cannot be written.
    """
    brought: list[Take] = []
    for left in sorted(stand_ins_folder(history.path, cache_folder).glob(f"*/{_FILE}")):
        try:
            stand_in = HistoryFile(left)
        except HistoryInUse:
            continue
        except HistoryUnavailable:
            _log.warning("What was kept aside cannot be read and is left there: %s", left)
            continue
        try:
            stand_in.recover_open_takes()
            brought += bring_home(history, stand_in)
        finally:
            stand_in.close()
        throw_away(left)
    return tuple(brought)


def salvage(history: HistoryFile, damaged: Path, cache_folder: Path) -> tuple[Take, ...]:
    """Put the takes that can still be read in a damaged file into the history; it stays as it is.

    ``damaged`` is the file that was set aside. What cannot be read is left out.
    """
    copy = stand_ins_folder(history.path, cache_folder) / new_id() / _FILE
    copy_what_is_there(damaged, copy)
    brought: tuple[Take, ...] = ()
    try:
        with HistoryFile(copy) as readable:
            brought = bring_home(history, readable)
    except CompanionError as error:
        _log.warning("Nothing more can be read in the damaged history: %s", error)
    throw_away(copy)
    return brought


def _takes(stand_in: HistoryFile, take_ids: Iterable[str]) -> Iterable[Take]:
    for take_id in take_ids:
        take = _read(lambda: stand_in.take(take_id))  # noqa: B023 - asked at once
        if take is not None and take.source is not TakeSource.DEMO:
            yield take


def _home_of(history: HistoryFile, stand_in: HistoryFile, piece_id: str | None) -> str | None:
    """The piece of the history that is meant by one of the stand-in; a new one is put there."""
    piece = _read(lambda: stand_in.piece(piece_id or ""))
    if piece is None:
        return None
    at_home = history.piece(piece.piece_id) or history.piece_with_score(
        piece.score_hash, piece.part
    )
    if at_home is None:
        _move_piece(history, stand_in, piece)
    return (at_home or piece).piece_id


def _move_piece(history: HistoryFile, stand_in: HistoryFile, piece: Piece) -> None:
    history.save_piece(piece)
    score_file = _read(lambda: stand_in.score_file(piece.score_hash))
    if score_file is not None:
        history.save_score_file(piece.score_hash, score_file)
    history.set_hands(piece.piece_id, _read(lambda: stand_in.hands(piece.piece_id)) or {})
    section_map = _read(lambda: stand_in.section_map(piece.piece_id))
    if section_map is not None:
        history.save_section_map(piece.piece_id, section_map)


def _read(ask: Callable[[], Found | None]) -> Found | None:
    """What a file that may be damaged says; None where it cannot."""
    try:
        return ask()
    except HistoryUnavailable:
        return None
