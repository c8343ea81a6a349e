"""Opening a piece: from a file, from our own copy of it, or the one that was on the stand last.

Reading is done by a worker process (:func:`read_score_file`); the rest is quick and done at home.
A piece is known by the bytes of its score file and the part that was chosen, so it keeps its
history when the file moves, and when a newer program reads it differently.
"""

from __future__ import annotations

import hashlib
import stat
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path

from companion.errors import ScoreUnreadable
from companion.history.model import Piece, new_id
from companion.practice.basis import results_basis
from companion.progress import Report, no_report
from companion.score.model import Hand, Score
from companion.score.reading.hands import assign_hands
from companion.score.sections.section_map import SectionMap
from companion.storage.history_file import HistoryFile
from companion.storage.pieces import ScoreFile


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadScore:
    """What the worker process hands back: the score, and the file to keep a copy of."""

    path: str
    part: str
    score_hash: str
    score_file: ScoreFile
    score: Score


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenPiece:
    """A piece on the stand.

    ``score`` has the pianist's own choice of hands; ``basis`` is what its results stand on;
    ``section_map`` is None for a piece that has none yet. ``as_read`` is the score with the hands
    that its staves and voices say.
    """

    piece: Piece
    score: Score = field(repr=False)
    hands: Mapping[str, Hand]
    basis: str
    section_map: SectionMap | None
    view: str
    as_read: Score | None = field(default=None, repr=False)


ScoreReader = Callable[[str, str | None, Report], Score]
"""Reads a score file: path, part (None for the piano's), report."""


def read_score_file(
    path: str,
    part: str | None = None,
    report: Report = no_report,
    read: ScoreReader | None = None,
) -> ReadScore:
    """Read a score file, in the worker process.

    Raises
    ------
    ScoreUnreadable
        The file is missing, broken or no score.
    """
    if read is None:
        # only workers read: the window must not load what they need
        from companion.score.reading.reader import read_score

        read = read_score

    from companion.score.files.sources import open_source

    original = open_source(path).original
    return ReadScore(
        path=path,
        part=part or "",
        score_hash=hashlib.sha256(original).hexdigest(),
        score_file=ScoreFile(Path(path).name, original),
        score=read(path, part, report),
    )


def put_on_shelf(
    history: HistoryFile,
    read: ReadScore,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
) -> OpenPiece:
    """Open a score that was read: the piece it belongs to, or a new one on the shelf."""
    known = history.piece_with_score(read.score_hash, read.part)
    opened_at = now()
    if known is None:
        piece = Piece(
            piece_id=new_id(),
            title=read.score.title or Path(read.path).stem,
            composer=read.score.composer,
            score_hash=read.score_hash,
            score_path=read.path,
            part=read.part,
            opened_at=opened_at,
        )
    else:
        piece = replace(known, score_path=read.path or known.score_path, opened_at=opened_at)
    history.save_score_file(read.score_hash, read.score_file)
    history.save_piece(piece)
    hands = history.hands(piece.piece_id)
    return OpenPiece(
        piece=piece,
        score=assign_hands(read.score, hands),
        hands=hands,
        basis=results_basis(read.score, hands),
        section_map=history.section_map(piece.piece_id),
        view=history.view(piece.piece_id),
        as_read=read.score,
    )


def last_piece(history: HistoryFile) -> Piece | None:
    """Return the piece that was on the stand last, None on an empty shelf."""
    return next((piece for piece in history.shelf() if piece.opened_at is not None), None)


def score_path_of(history: HistoryFile, piece: Piece, folder: Path) -> Path:
    """Return a file from which the score of a piece can be read.

    That is the file it came from while that is unchanged, else our own copy of it, which is written
    into ``folder``.

    Raises
    ------
    ScoreUnreadable
        The file is gone and the history has no copy.
    """
    original = Path(piece.score_path)
    if piece.score_path and _holds(original, piece.score_hash):
        return original
    kept = history.score_file(piece.score_hash)
    if kept is None:
        raise ScoreUnreadable(
            f"The score of “{piece.title}” is not where it was ({piece.score_path}), "
            "and there is no copy of it in your history. Please open it again."
        )
    copy = folder / piece.score_hash[:16] / (Path(kept.file_name).name or "score")
    if not _holds(copy, piece.score_hash):
        try:
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(kept.content)
        except OSError as error:
            raise ScoreUnreadable(
                f"The score of “{piece.title}” cannot be unpacked into {folder}: "
                f"{error.strerror or error}."
            ) from error
    return copy


def hash_of_file(path: Path) -> str:
    """SHA-256 of a score file; empty for what cannot be read, is far too big or no file at all."""
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):  # a pipe or a device would block or never end
            return ""
        if status.st_size > _LARGEST_TO_HASH_BYTES:
            return ""
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except (OSError, ValueError):
        return ""


def _holds(path: Path, score_hash: str) -> bool:
    return hash_of_file(path) == score_hash


_LARGEST_TO_HASH_BYTES = 64 << 20
