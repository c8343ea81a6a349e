"""What the commands share: the history they work on, and the piece that is meant."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from companion.errors import CompanionError
from companion.settings import cache_folder, history_path, load_settings, settings_path

if TYPE_CHECKING:
    from companion.history.model import Piece
    from companion.practice.opening import OpenPiece
    from companion.practice.report.filling import ReportAsked
    from companion.practice.report.values import ReportValues
    from companion.storage.history_file import HistoryFile

DONE = 0


class PieceNotMeant(CompanionError):
    """No piece on the shelf, or more than one, has the name that was given."""


def add_history(parser: argparse.ArgumentParser) -> None:
    """Let a command work on another history."""
    parser.add_argument(
        "--history", metavar="FILE", help="the practice history; without it the usual one"
    )


@contextmanager
def opened_history(
    options: argparse.Namespace, *, may_be_new: bool = False
) -> Iterator[HistoryFile]:
    """Open the history that is meant.

    Parameters
    ----------
    may_be_new
        Begin one where there is none: for what brings something in.

    Raises
    ------
    HistoryUnavailable
        It is open in a window, damaged, or cannot be written.
    CompanionError
        There is none.
    """
    from companion.storage.history_file import HistoryFile

    path = Path(options.history) if options.history else history_path()
    if may_be_new:
        path.parent.mkdir(parents=True, exist_ok=True)
    elif not path.is_file():
        raise CompanionError(f"There is no practice history at {path}.")
    with HistoryFile(path) as history:
        yield history


def piece_named(history: HistoryFile, name: str) -> Piece:
    """Return the piece on the shelf whose title is, or contains, a name.

    Raises
    ------
    PieceNotMeant
        There is none, or more than one.
    """
    shelf = history.shelf()
    wanted = name.casefold()
    found = [piece for piece in shelf if piece.title.casefold() == wanted]
    found = found or [piece for piece in shelf if wanted in piece.title.casefold()]
    if len(found) == 1:
        return found[0]
    titles = ", ".join(f"“{piece.title}”" for piece in (found or shelf)[:12])
    if found:
        raise PieceNotMeant(f"Several pieces are called so: {titles}.")
    if not shelf:
        raise PieceNotMeant("There is no piece on the shelf.")
    raise PieceNotMeant(f"There is no piece “{name}” on the shelf; there are {titles}.")


def opened_piece(history: HistoryFile, piece: Piece) -> OpenPiece:
    """Read the score of a piece and bring the results of its takes up to date.

    Raises
    ------
    ScoreUnreadable
        The score is gone or cannot be read.
    """
    from companion.practice.opening import put_on_shelf, read_score_file, score_path_of
    from companion.practice.results import bring_up_to_date

    path = score_path_of(history, piece, cache_folder() / "scores")
    opened = put_on_shelf(history, read_score_file(str(path), piece.part or None))
    if opened.section_map is not None:
        bring_up_to_date(history, piece.piece_id, opened.score, opened.section_map, opened.basis)
    return opened


def report_of(history: HistoryFile, opened: OpenPiece, asked: ReportAsked) -> ReportValues:
    """Work up a report of a piece.

    Raises
    ------
    CompanionError
        It has no sections yet.
    """
    from companion.practice.report.filling import report_values

    if opened.section_map is None:
        raise CompanionError(
            f"“{opened.piece.title}” has no sections yet: open it in the window once before."
        )
    return report_values(history, opened, opened.section_map, asked)


def day_starts_at_hour() -> int:
    """The hour at which a practice day begins, as it is set."""
    return load_settings(settings_path()).day_starts_at_hour


def today(hour: int) -> date:
    """The practice day that it is now, on the clock of the wall."""
    now = datetime.now().astimezone()
    return now.date() - timedelta(days=1) if now.hour < hour else now.date()


def tell(*sentences: str) -> None:
    """Print what came of a command."""
    for sentence in sentences:
        sys.stdout.write(f"{sentence}\n")
