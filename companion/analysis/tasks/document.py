"""What the pianist did with the tasks, as plain JSON values for the history.

Only tasks that were kept and the ids of those turned down are stored: everything else is proposed
anew, so that a better proposal reaches old pieces.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from companion.analysis.tasks.model import Task, TaskKind, TaskList
from companion.errors import EditRefused
from companion.score.model import Hand, Position

FORMAT = 1


def tasks_to_document(tasks: TaskList) -> dict[str, Any]:
    """Return the kept tasks as values that ``json`` can write; inverse of the function below."""
    return {
        "format": FORMAT,
        "tasks": [
            {
                "id": task.task_id,
                "name": task.name,
                "kind": task.kind.value,
                "start": _position_to_list(task.start),
                "end": _position_to_list(task.end),
                "hand": task.hand.value if task.hand else None,
                "reason": task.reason,
                "how_to_practise": task.how_to_practise,
            }
            for task in tasks.tasks
            if task.kept
        ],
        "dismissed": list(tasks.dismissed),
    }


def tasks_from_document(document: object) -> TaskList:
    """Read kept tasks from the values that ``json`` gave; inverse of the function above.

    Raises
    ------
    EditRefused
        When the document was made by a newer version or is damaged.
    """
    try:
        if document["format"] > FORMAT:  # type: ignore[index]
            raise EditRefused("These tasks were stored by a newer version of the program.")
        tasks = tuple(_task(item) for item in document["tasks"])  # type: ignore[index]
        dismissed = tuple(str(one) for one in document["dismissed"])  # type: ignore[index]
    except (TypeError, KeyError, ValueError, ZeroDivisionError) as error:
        raise EditRefused("These tasks are damaged and cannot be read.") from error
    if any(task.end <= task.start for task in tasks):
        raise EditRefused("These tasks are damaged and cannot be read.")
    return TaskList(tasks, dismissed)


def _task(item: dict[str, Any]) -> Task:
    hand = item.get("hand")
    return Task(
        task_id=str(item["id"]),
        name=str(item["name"]),
        kind=TaskKind(item["kind"]),
        start=_position(item["start"]),
        end=_position(item["end"]),
        hand=Hand(hand) if hand else None,
        reason=str(item.get("reason", "")),
        how_to_practise=str(item.get("how_to_practise", "")),
        kept=True,
    )


def _position_to_list(position: Position) -> list[int | str]:
    return [position.measure_index, str(position.offset_quarters)]


def _position(value: Any) -> Position:
    measure_index, offset = value
    return Position(int(measure_index), Fraction(offset))
