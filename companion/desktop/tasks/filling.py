"""From tasks, map and history to what page and map show. No widgets, no database."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from datetime import timedelta

from companion.analysis.tasks.model import Task, TaskKind, TaskList
from companion.desktop.days.content import DaysContent
from companion.desktop.knowing.wording import state
from companion.desktop.section_map.task_lane import MapTask
from companion.desktop.tasks import wording
from companion.desktop.tasks.content import TaskLine, TasksContent
from companion.history.knowing.known import State
from companion.history.knowing.standing import PieceStanding
from companion.score.model import Score
from companion.score.sections.proposal import measure_range, measures_as_name
from companion.score.sections.section_map import SectionMap

_LEAST_DAYS_SHOWN = 7


def tasks_content(
    score: Score,
    section_map: SectionMap,
    tasks: TaskList,
    days: DaysContent,
    ranks: Mapping[str, int],
    standing: PieceStanding | None = None,
) -> TasksContent:
    """Fill the page of the tasks for one piece.

    Parameters
    ----------
    ranks
        Place of the sections in the order of work by id, 1 for the hardest.
    standing
        Since when sections and tasks are known; None until that was worked out.
    """
    by_id = {each.section_id: each for each in days.tasks}
    leaves = section_map.leaves  # they tile the piece, in order
    starts = [section.start for section in leaves]
    lines = []
    for task in tasks.tasks:
        section = leaves[max(0, bisect_right(starts, task.start) - 1)] if leaves else None
        first, last = measure_range(score, task.start, task.end)
        lines.append(
            TaskLine(
                task_id=task.task_id,
                name=task.name,
                title=_title(score, task),
                kind=wording.kind_name(task.kind),
                start=task.start,
                end=task.end,
                measures=first if first == last else f"{first}–{last}",
                hand=wording.hand_name(task.hand),
                section=section.name if section is not None else "",
                rank=ranks.get(section.section_id, 0) if section is not None else 0,
                reason=task.reason,
                how_to_practise=task.how_to_practise,
                kept=task.kept,
                days=by_id.get(task.task_id),
                known=_known(standing, task.task_id),
            )
        )
    first_day = None
    if days.today is not None:
        week = days.today - timedelta(days=_LEAST_DAYS_SHOWN - 1)
        first_day = min((week, *days.days[:1]))
    return TasksContent(
        open=True,
        lines=tuple(lines),
        measure_numbers=tuple(measure.number for measure in score.measures),
        dismissed=len(tasks.dismissed),
        first_day=first_day,
        today=days.today,
    )


def map_tasks(tasks: TaskList, content: TasksContent) -> tuple[MapTask, ...]:
    """What the map shows of the tasks."""
    lines = {line.task_id: line for line in content.lines}
    return tuple(
        MapTask(
            task_id=task.task_id,
            start=task.start,
            end=task.end,
            words=wording.map_words(task, lines[task.task_id].title),
            sentence=wording.task_sentence(lines[task.task_id], content.today),
            kept=task.kept,
        )
        for task in tasks.tasks
    )


def _known(standing: PieceStanding | None, task_id: str) -> str:
    found = standing.section(task_id) if standing is not None else None
    if standing is None or found is None or found.state is State.NEW:
        return ""
    return state(found, standing.rules, standing.today)


def _title(score: Score, task: Task) -> str:
    """The name of a task, without what stands beside it; that of a proposal is its kind."""
    if task.kind is TaskKind.OWN:
        return task.name
    whose = f", {task.hand.value} hand" if task.hand is not None else ""
    proposed = f"{task.kind.value.capitalize()}{whose}, "
    measures = measures_as_name(score, task.start, task.end)
    if task.name == proposed + measures or (
        task.name.startswith(proposed)
        and task.name.removeprefix(proposed).startswith(("m. ", "mm. "))
    ):
        return wording.kind_name(task.kind)
    return task.name
