"""Tasks inside the sections of the piece on the stand, from the document that the history keeps."""

from __future__ import annotations

import json
from collections.abc import Iterable

from companion.analysis.tasks.document import tasks_from_document, tasks_to_document
from companion.analysis.tasks.model import Task, TaskList, with_proposals
from companion.errors import EditRefused

TASKS = "tasks"
"""Kind of the document that holds what was done with the tasks."""


def tasks_of(document: str, proposed: Iterable[Task]) -> tuple[TaskList, str]:
    """Return kept and proposed tasks, and what was wrong with the document, if anything."""
    kept, sentence = kept_tasks(document)
    return with_proposals(kept, proposed), sentence


def kept_tasks(document: str) -> tuple[TaskList, str]:
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
