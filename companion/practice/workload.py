"""Where the work of a piece lies and which tasks are inside its sections, for the worker process.

One plain function from the score and what the history keeps; :func:`workload_key` names everything
the result stands on, for keeping it in the cache of scores. What practice says comes afterwards and
is quick (:func:`companion.history.workload.correct_workload`).
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field

from companion.analysis.fingering.suggest import finger_score
from companion.analysis.tasks.document import tasks_from_document, tasks_to_document
from companion.analysis.tasks.model import TaskList, with_proposals
from companion.analysis.tasks.proposal import propose_tasks
from companion.analysis.workload.estimate import estimate_workload
from companion.analysis.workload.model import Workload
from companion.errors import EditRefused
from companion.progress import Progress, Report, no_report
from companion.score.model import Score
from companion.score.sections.document import section_map_to_document
from companion.score.sections.section_map import SectionMap

TASKS = "tasks"
"""Kind of the document that holds what was done with the tasks."""

TEACHER_ORDER = "teacher order"
"""Kind of the document that holds the order of sections that the teacher wants."""

WORKLOAD_VERSION = 1
"""Raise it whenever workload or tasks come out differently."""

_PARTS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkOfPiece:
    """Workload and tasks of a piece, as they follow from the score."""

    workload: Workload = field(repr=False)
    tasks: TaskList = field(repr=False)


def find_work(
    score: Score,
    section_map: SectionMap,
    tasks: TaskList | None = None,
    report: Report = no_report,
) -> WorkOfPiece:
    """Estimate the workload of a piece and propose its tasks; about 0.3 seconds for 1,000 notes.

    Parameters
    ----------
    score
        With the pianist's own choice of hands.
    tasks
        What the pianist did with tasks before.

    Raises
    ------
    Cancelled
        The person stopped the work.
    """
    # what the music asks for: the table of the paper, no fingers that were set, no groups
    fingering = finger_score(score, report=_part(report, 0))
    workload = estimate_workload(score, section_map, fingering=fingering, report=_part(report, 1))
    proposed = propose_tasks(score, section_map, _part(report, 2))
    return WorkOfPiece(workload=workload, tasks=with_proposals(tasks or TaskList(), proposed))


def workload_key(score: Score, section_map: SectionMap) -> str:
    """Name everything that workload and proposed tasks stand on."""
    hands = "".join(note.playing_hand.value[0] for note in score.notes)
    text = json.dumps([score.content_hash, hands, section_map_to_document(section_map)])
    return f"workload {WORKLOAD_VERSION} {hashlib.sha256(text.encode()).hexdigest()[:24]}"


def tasks_of(document: str) -> tuple[TaskList, str]:
    """Return what was done with tasks, and what was wrong with the document, if anything."""
    if not document:
        return TaskList(), ""
    try:
        return tasks_from_document(json.loads(document)), ""
    except ValueError:
        return TaskList(), "The stored tasks are damaged and cannot be read."
    except EditRefused as error:
        return TaskList(), str(error)


def tasks_text(tasks: TaskList) -> str:
    """Write what was done with tasks, "" when nothing was."""
    if not tasks.dismissed and not any(task.kept for task in tasks.tasks):
        return ""
    return json.dumps(tasks_to_document(tasks), ensure_ascii=False)


def teacher_order_of(document: str) -> tuple[str, ...]:
    """The order of sections that the teacher wants, as ids; none where it cannot be read."""
    try:
        ids = json.loads(document) if document else []
    except ValueError:
        return ()
    return tuple(str(one) for one in ids) if isinstance(ids, list) else ()


def teacher_order_text(section_ids: tuple[str, ...]) -> str:
    """Write the order of sections, "" when there is none."""
    return json.dumps(list(section_ids)) if section_ids else ""


def _part(report: Report, number: int) -> Report:
    """Reports of one of the parts, told as steps of the whole."""

    def told(progress: Progress) -> None:
        share = progress.fraction or 0.0
        done = round(100 * (number + share) / _PARTS)
        report(Progress(done=done, total=100, doing=progress.doing))

    return told
