"""The groups of a score as text: a list by run for people, a document for other programs."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from typing import Any

from companion.analysis.grouping.model import Group, Grouping, RunGroups
from companion.score.model import Position, Score, ScoreNote
from companion.score.sections.proposal import measures_in_short

_BORDER = " | "


def groups_document(
    score: Score, grouping: Grouping, fingers: Mapping[str, int] | None = None
) -> dict[str, Any]:
    """What a command for groups prints; fingers are added where they are given."""
    notes = {note.note_id: note for note in score.notes}
    return {
        "runs": [
            {
                "hand": run.run.hand.value,
                "voice": run.run.voice,
                "measure": _number(score, run.run.start),
                "offset_quarters": str(run.run.start.offset_quarters),
                "value_quarters": str(run.run.value_quarters),
                "way": run.way.value,
                "groups": [_group(notes, group, fingers or {}) for group in run.groups],
            }
            for run in grouping.runs
        ]
    }


def groups_table(score: Score, grouping: Grouping, width: int) -> str:
    """Run by run the names of the notes, a stroke at each border."""
    if not grouping.runs:
        return "There are no runs of equal short notes in this score."
    notes = {note.note_id: note for note in score.notes}
    lines = []
    for run in grouping.runs:
        measures = measures_in_short(_number(score, run.run.start), _last_number(score, run))
        lines.append(f"{measures}, {run.run.hand.value} hand, {run.way.value}:")
        groups = _BORDER.join(
            " ".join(notes[note_id].spelling for note_id in group.note_ids) for group in run.groups
        )
        lines += textwrap.wrap(groups, width, initial_indent="    ", subsequent_indent="    ")
    return "\n".join(lines)


def _group(
    notes: Mapping[str, ScoreNote], group: Group, fingers: Mapping[str, int]
) -> dict[str, Any]:
    found: dict[str, Any] = {
        "notes": list(group.note_ids),
        "names": [notes[note_id].spelling for note_id in group.note_ids],
        "goal": list(group.goal_ids),
        "why": group.reason,
    }
    if any(note_id in fingers for note_id in group.note_ids):
        found["fingers"] = [fingers.get(note_id) for note_id in group.note_ids]
    return found


def _number(score: Score, position: Position) -> str:
    return score.measures[min(position.measure_index, len(score.measures) - 1)].number


def _last_number(score: Score, run: RunGroups) -> str:
    end = run.run.end
    inside = end.measure_index if end.offset_quarters else end.measure_index - 1
    return _number(score, Position(max(run.run.start.measure_index, inside)))
