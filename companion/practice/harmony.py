"""Key and chord of the piece on the stand: analysed once, kept, with the pianist's corrections."""

from __future__ import annotations

from pathlib import Path

from companion.analysis.harmony import HARMONY_VERSION, Harmony, analyse_harmony
from companion.progress import Report, no_report
from companion.score.cache import ScoreCache
from companion.score.model import Score

CORRECTIONS = "harmony"
"""Kind of the document that holds the corrections, see :mod:`companion.analysis.corrections`."""


def kept_or_analysed(score: Score, cache_folder: Path, report: Report = no_report) -> Harmony:
    """Return the harmony of a score as the analysis finds it: for a worker process."""
    cache = ScoreCache(cache_folder)
    name = f"harmony {HARMONY_VERSION}"
    kept = cache.get(score.content_hash, name)
    if isinstance(kept, Harmony):
        return kept
    harmony = analyse_harmony(score, report)
    cache.put(score.content_hash, name, harmony)
    return harmony
