"""What the pianist has set in the grouping, as plain JSON values for the history.

Only runs that were touched are stored; everything else is proposed anew, so that a better proposal
reaches old pieces. A run is known by its first note and its length; where the score has changed so
that they no longer fit, the proposal stands.
"""

from __future__ import annotations

from typing import Any

from companion.analysis.grouping.edits import set_begins, set_way
from companion.analysis.grouping.model import Grouping, RunGroups, Way
from companion.analysis.grouping.proposal import propose_grouping
from companion.errors import EditRefused
from companion.score.model import Score

FORMAT = 1


def grouping_to_document(grouping: Grouping, way: Way = Way.LEADING) -> dict[str, Any]:
    """Return what was set as values that ``json`` can write; inverse of the function below.

    Parameters
    ----------
    way
        The way in which runs are divided that nobody has touched.
    """
    touched = [run for run in grouping.runs if run.edited or run.chosen]
    return {"format": FORMAT, "way": way.value, "runs": [_run_to_values(run) for run in touched]}


def way_of_document(document: object) -> Way:
    """The way in which a document divides runs that nobody has touched."""
    return _read(document)[0]


def grouping_from_document(score: Score, document: object) -> Grouping:
    """Propose the grouping of a score and put back what was set.

    Raises
    ------
    EditRefused
        When the document was made by a newer version or is damaged.
    """
    way, items = _read(document)
    grouping = propose_grouping(score, way)
    lengths = {run.run.run_id: len(run.run.steps) for run in grouping.runs}
    for run_id, steps, run_way, begins in items:
        if lengths.get(run_id) != steps:
            continue
        grouping = set_way(score, grouping, [run_id], run_way)
        if begins is not None:
            grouping = set_begins(grouping, run_id, begins)
    return grouping


def _run_to_values(run: RunGroups) -> dict[str, Any]:
    return {
        "run": run.run.run_id,
        "steps": len(run.run.steps),
        "way": run.way.value,
        "begins": list(run.begins) if run.edited else None,
    }


def _read(document: object) -> tuple[Way, list[tuple[str, int, Way, list[int] | None]]]:
    try:
        if document["format"] > FORMAT:  # type: ignore[index]
            raise EditRefused("This grouping was made by a newer version of the program.")
        items = [
            (
                str(item["run"]),
                int(item["steps"]),
                Way(item["way"]),
                None if item.get("begins") is None else [int(step) for step in item["begins"]],
            )
            for item in document["runs"]  # type: ignore[index]
        ]
        return Way(document["way"]), items  # type: ignore[index]
    except (TypeError, KeyError, ValueError, AttributeError) as error:
        raise EditRefused("This grouping is damaged and cannot be read.") from error
