"""Tasks as plain frozen values, and what the pianist does with them.

Every edit returns a new :class:`TaskList`; undo is going back to the old value.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from companion.errors import EditRefused
from companion.score.model import Hand, Position
from companion.score.sections.edits import LONGEST_NAME
from companion.score.sections.section_map import Section, SectionMap, new_section_id


class TaskKind(StrEnum):
    """What a task is about."""

    RUN = "run"
    LEAPS = "leaps"
    OCTAVES = "octaves"
    CHORDS = "chords"
    TWO_RHYTHMS = "two rhythms"
    OWN = "own"


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A passage inside a section that is work of its own.

    Parameters
    ----------
    task_id
        The same for the same place and kind when tasks are proposed anew.
    start, end
        Half-open, as for sections.
    hand
        Whose task it is; None for both.
    reason
        Why it was proposed, in words; empty for the pianist's own.
    how_to_practise
        The pianist's or the teacher's words.
    kept
        Whether the pianist has taken it (by saying so, or by changing it); the others are only
        proposals.
    """

    task_id: str
    name: str
    kind: TaskKind
    start: Position
    end: Position
    hand: Hand | None = None
    reason: str = ""
    kept: bool = False
    how_to_practise: str = ""

    @property
    def as_section(self) -> Section:
        """The task as a section without a place in the map, so that takes are measured in it."""
        return Section(
            section_id=self.task_id,
            name=self.name,
            start=self.start,
            end=self.end,
            why=self.reason,
        )


@dataclass(frozen=True, slots=True)
class TaskList:
    """The tasks of a piece in order of place, and the ids of proposals that were turned down."""

    tasks: tuple[Task, ...] = ()
    dismissed: tuple[str, ...] = ()

    def task(self, task_id: str) -> Task:
        """Return the task with this id; raises EditRefused when there is none."""
        for task in self.tasks:
            if task.task_id == task_id:
                return task
        raise EditRefused("This task is no longer in the list.")


def keep(tasks: TaskList, task_id: str) -> TaskList:
    """Take a proposal: it stays when tasks are proposed anew."""
    return _with(tasks, replace(tasks.task(task_id), kept=True))


def dismiss(tasks: TaskList, task_id: str) -> TaskList:
    """Turn a task down: it is not proposed again. One of the pianist's own is gone."""
    turned_down = tasks.task(task_id)
    left = tuple(task for task in tasks.tasks if task.task_id != task_id)
    if turned_down.kind is TaskKind.OWN:
        return TaskList(left, tasks.dismissed)
    return TaskList(left, (*tasks.dismissed, task_id))


def bring_back(tasks: TaskList) -> TaskList:
    """Let everything that was turned down be proposed again."""
    return TaskList(tasks.tasks)


def rename_task(tasks: TaskList, task_id: str, name: str) -> TaskList:
    """Give a task another name (1 to 80 letters)."""
    tidy = " ".join(name.split())
    if not tidy:
        raise EditRefused("A task needs a name.")
    if len(tidy) > LONGEST_NAME:
        raise EditRefused(f"A task's name can have at most {LONGEST_NAME} letters.")
    return _with(tasks, replace(tasks.task(task_id), name=tidy, kept=True))


def write_how_to_practise(tasks: TaskList, task_id: str, words: str) -> TaskList:
    """Write how a task shall be practised."""
    return _with(tasks, replace(tasks.task(task_id), how_to_practise=words.strip(), kept=True))


def move_task(tasks: TaskList, task_id: str, start: Position, end: Position) -> TaskList:
    """Let a task begin and end elsewhere."""
    if end <= start:
        raise EditRefused("A task needs at least one note between its beginning and its end.")
    return _with(tasks, replace(tasks.task(task_id), start=start, end=end, kept=True))


def add_task(
    tasks: TaskList, name: str, start: Position, end: Position, hand: Hand | None = None
) -> TaskList:
    """Make a task of the pianist's own."""
    own = Task(
        task_id=new_section_id(),
        name=name,
        kind=TaskKind.OWN,
        start=start,
        end=end,
        hand=hand,
        kept=True,
    )
    added = TaskList((*tasks.tasks, own), tasks.dismissed)
    return rename_task(move_task(added, own.task_id, start, end), own.task_id, name)


def with_proposals(tasks: TaskList, proposed: Iterable[Task]) -> TaskList:
    """Bring the list up to date: kept tasks stay as they are, the rest is proposed anew."""
    kept = [task for task in tasks.tasks if task.kept]
    taken = {task.task_id for task in kept} | set(tasks.dismissed)
    fresh = [task for task in proposed if task.task_id not in taken]
    return TaskList(_in_order([*kept, *fresh]), tasks.dismissed)


def map_with_tasks(section_map: SectionMap, tasks: Iterable[Task]) -> SectionMap:
    """The map with tasks among its sections: to measure takes in, never to show or to edit.

    Tasks overlap sections, so the promises of a map do not hold for it.
    """
    return SectionMap(sections=(*section_map.sections, *(task.as_section for task in tasks)))


def _with(tasks: TaskList, edited: Task) -> TaskList:
    changed = [edited if task.task_id == edited.task_id else task for task in tasks.tasks]
    return TaskList(_in_order(changed), tasks.dismissed)


def _in_order(tasks: Sequence[Task]) -> tuple[Task, ...]:
    return tuple(sorted(tasks, key=lambda task: (task.start, task.end, task.task_id)))
