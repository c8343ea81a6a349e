"""A score for a worker process: named instead of sent, where the worker can fetch it itself.

Ten thousand notes are pickled in a third of a second, in the window's own thread. Every score that
was read lies in the cache, so a worker is told its name and takes it from there; once it has it, it
keeps it for the next piece of work.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from companion.errors import ScoreUnreadable
from companion.practice.kept import LOADED_SCORE, kept_score, score_key
from companion.progress import Report, no_report
from companion.score.cache import ScoreCache
from companion.score.model import Hand, Score

if TYPE_CHECKING:
    from companion.practice.kept import LoadedScore
    from companion.practice.opening import OpenPiece


@dataclass(frozen=True, slots=True)
class LentScore:
    """Where a worker finds a score, and the hands that the pianist gave to notes."""

    cache_folder: Path
    score_hash: str
    part: str | None
    hands: tuple[tuple[str, Hand], ...] = ()


def lend(opened: OpenPiece, cache_folder: Path) -> LentScore | Score:
    """Return what to give to :func:`with_score`: the score itself where the cache has it not."""
    piece = opened.piece
    part = piece.part or None
    if not ScoreCache(cache_folder).has(score_key(piece.score_hash, part), LOADED_SCORE):
        return opened.score
    return LentScore(cache_folder, piece.score_hash, part, tuple(sorted(opened.hands.items())))


def lend_loaded(loaded: LoadedScore, cache_folder: Path) -> LentScore | Score:
    """Return the same for a score that lies on no stand yet."""
    read = loaded.read
    part = read.part or None
    if not ScoreCache(cache_folder).has(score_key(read.score_hash, part), LOADED_SCORE):
        return read.score
    return LentScore(cache_folder, read.score_hash, part)


def with_score(
    function: Callable[..., Any],
    lent: LentScore | Score,
    *arguments: object,
    report: Report = no_report,
) -> Any:
    """Call a function of a score, in a worker process.

    Raises
    ------
    ScoreUnreadable
        When the score left the cache meanwhile.
    """
    score = _fetched(lent) if isinstance(lent, LentScore) else lent
    if "report" in inspect.signature(function).parameters:
        return function(score, *arguments, report=report)
    return function(score, *arguments)


@lru_cache(maxsize=2)
def _fetched(lent: LentScore) -> Score:
    from companion.score.reading.hands import assign_hands

    kept = kept_score(lent.cache_folder, lent.score_hash, lent.part)
    if kept is None:
        raise ScoreUnreadable("This score is no longer in the cache: open it once again.")
    return assign_hands(kept.read.score, dict(lent.hands))
