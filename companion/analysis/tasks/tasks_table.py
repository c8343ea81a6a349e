"""Tasks as text: a list by section for people, a document for other programs."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from companion.analysis.tasks.model import Task
from companion.score.model import Position, Score
from companion.score.sections.proposal import measure_range, measures_as_name
from companion.score.sections.section_map import SectionMap

NO_TASKS = "No part of a section asks for something of its own."


def tasks_document(score: Score, section_map: SectionMap, tasks: Sequence[Task]) -> dict[str, Any]:
    """What ``companion tasks --json`` prints; times in quarters as printed.

    ``hand`` is "right", "left" or null for both.
    """
    return {"tasks": [_task(score, section_map, task) for task in tasks]}


def tasks_table(score: Score, section_map: SectionMap, tasks: Sequence[Task], width: int) -> str:
    """The sections with tasks in order of place, each task with its measures and its reason."""
    if not tasks:
        return NO_TASKS
    lines: list[str] = []
    before = ""
    for task in tasks:
        section = section_name(section_map, task.start)
        if section != before:
            lines += textwrap.wrap(section, width)
            before = section
        told = f"{_measures(score, task)}: {task.reason}"
        lines += textwrap.wrap(told, width, initial_indent="  ", subsequent_indent="      ")
    return "\n".join(lines)


def section_name(section_map: SectionMap, position: Position) -> str:
    """Name of the smallest section around a place, empty where there is none."""
    section = section_map.section_at(position)
    return section.name if section is not None else ""


def _task(score: Score, section_map: SectionMap, task: Task) -> dict[str, Any]:
    first, last = measure_range(score, task.start, task.end)
    return {
        "name": task.name,
        "kind": task.kind.value,
        "hand": task.hand.value if task.hand is not None else None,
        "section": section_name(section_map, task.start),
        "from_measure": first,
        "to_measure": last,
        "start": float(score.quarters_at(task.start)),
        "end": float(score.quarters_at(task.end)),
        "why": task.reason,
    }


def _measures(score: Score, task: Task) -> str:
    return measures_as_name(score, task.start, task.end)
