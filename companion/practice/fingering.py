"""Fingers for a whole piece, for a worker process; kept, since a long piece takes seconds."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path

from companion.analysis.fingering.hands import PianistHands
from companion.analysis.fingering.suggest import Suggestion, finger_score
from companion.analysis.grouping.model import Grouping
from companion.progress import Report, no_report
from companion.score.cache import ScoreCache
from companion.score.model import Hand, Score

_SUGGESTED = "suggested fingers 1"


def suggested_fingers(
    score: Score,
    hands: PianistHands,
    locked: Mapping[str, int],
    grouping: Grouping,
    cache_folder: Path,
    report: Report = no_report,
) -> tuple[tuple[str, int], ...]:
    """Return a finger for each note of a piece, by note id.

    Parameters
    ----------
    locked
        Fingers that are printed or that the pianist has set: they come back as they are.
    """
    cache = ScoreCache(cache_folder)
    name = f"{_SUGGESTED} {_digest(score, hands, locked, grouping)}"
    kept = cache.get(score.content_hash, name)
    if isinstance(kept, tuple) and all(isinstance(each, Suggestion) for each in kept):
        found: tuple[Suggestion, ...] = kept
    else:
        found = finger_score(
            score,
            right=hands.asked(Hand.RIGHT),
            left=hands.asked(Hand.LEFT),
            chosen=locked,
            grouping=grouping,
            report=report,
        )
        cache.put(score.content_hash, name, found)
    return tuple(finger for suggestion in found for finger in suggestion.fingers)


def _digest(
    score: Score, hands: PianistHands, locked: Mapping[str, int], grouping: Grouping
) -> str:
    """Names everything that the fingers depend on besides the notes themselves."""
    whose = "".join(note.playing_hand.value[0] for note in score.notes)
    groups = [(group.run_id, group.first_step, group.end_step) for group in grouping.groups]
    everything = repr((whose, hands, sorted(locked.items()), groups))
    return hashlib.sha256(everything.encode()).hexdigest()[:16]
