"""Where the work of a piece lies: estimated once, corrected by practice, ordered by the teacher."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence
from pathlib import Path

from companion.analysis.fingering.suggest import Suggestion, finger_score
from companion.analysis.workload.estimate import estimate_workload
from companion.analysis.workload.model import Workload
from companion.history.results import SectionResult
from companion.history.workload import correct_workload, takes_of_sections
from companion.practice.targets import target_of
from companion.progress import Report, no_report
from companion.score.cache import ScoreCache
from companion.score.model import Score
from companion.score.sections.section_map import SectionMap

WORK_ORDER = "order of work"
"""Kind of the document that holds the order that the teacher wants."""

_FINGER_COSTS = "fingers for the workload 1"


def estimated(
    score: Score, section_map: SectionMap, cache_folder: Path, report: Report = no_report
) -> Workload:
    """Estimate the workload of a piece: for a worker process.

    The fingers of a whole score take most of the time and do not depend on the map: they are kept.
    """
    cache = ScoreCache(cache_folder)
    name = f"{_FINGER_COSTS} {_hands_digest(score)}"
    kept = cache.get(score.content_hash, name)
    if isinstance(kept, tuple) and all(isinstance(each, Suggestion) for each in kept):
        fingering: tuple[Suggestion, ...] = kept
    else:
        fingering = finger_score(score, report=report)
        cache.put(score.content_hash, name, fingering)
    return estimate_workload(score, section_map, fingering=fingering, report=report)


def _hands_digest(score: Score) -> str:
    """Names which hand plays what: the pianist may have given notes to the other one."""
    hands = "".join(note.playing_hand.value[0] for note in score.notes)
    return hashlib.sha256(hands.encode()).hexdigest()[:16]


def corrected_by_practice(
    workload: Workload,
    score: Score,
    section_map: SectionMap,
    results: Iterable[SectionResult],
) -> Workload:
    """Let what was heard correct the estimate."""
    targets = {
        section.section_id: target_of(section, section_map, score)
        for section in section_map.sections
    }
    return correct_workload(workload, section_map, takes_of_sections(section_map, results, targets))


def order_to_text(section_ids: Sequence[str]) -> str:
    """Write the order that the teacher wants, "" for none."""
    return json.dumps(list(section_ids)) if section_ids else ""


def text_to_order(text: str) -> tuple[str, ...]:
    """Inverse of :func:`order_to_text`; a damaged text is no order."""
    try:
        found = json.loads(text) if text else []
    except ValueError:
        return ()
    return tuple(str(each) for each in found) if isinstance(found, list) else ()
