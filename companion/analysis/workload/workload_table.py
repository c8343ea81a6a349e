"""The workload as text: a table in the order of work for people, a document for other programs."""

from __future__ import annotations

import textwrap
from typing import Any

from companion.analysis.workload.model import SectionWorkload, Workload
from companion.analysis.workload.ranking import hardest_first
from companion.score.model import Score
from companion.score.sections.proposal import measure_range, measures_as_name
from companion.score.sections.section_map import SectionMap

_DIGITS = 3


def workload_document(score: Score, section_map: SectionMap, workload: Workload) -> dict[str, Any]:
    """What a command for the workload prints; sections in the order of the map."""
    return {
        "sections": [
            _section(score, section_map, workload.section(section.section_id))
            for section in section_map.sections
        ],
        "order": [section_map.section(name).name for name in hardest_first(workload, section_map)],
        "measures": [
            {
                "measure": score.measures[measure.measure_index].number,
                "measure_index": measure.measure_index,
                "difficulty": round(measure.difficulty, _DIGITS),
                "right": round(measure.right, _DIGITS),
                "left": round(measure.left, _DIGITS),
            }
            for measure in workload.measures
        ],
    }


def workload_table(score: Score, section_map: SectionMap, workload: Workload, width: int) -> str:
    """The sections, the hardest first, each with its level, its share of the work and why."""
    order = hardest_first(workload, section_map)
    if not order:
        return "There are no sections in this score."
    total = sum(workload.section(name).work for name in order) or 1.0
    lines = []
    for place, name in enumerate(order, 1):
        found, section = workload.section(name), section_map.section(name)
        measures = measures_as_name(score, section.start, section.end)
        where = "" if section.name == measures else f" ({measures})"
        head = (
            f"{place:>2}. {section.name}{where}: level {found.level:.1f} of 5, "
            f"{100 * found.work / total:.0f} % of the work: {found.in_words}"
        )
        lines += textwrap.wrap(head, width, subsequent_indent="    ")
    legend = (
        "Level: how hard a section is within the piece, estimated from the score alone. Work: "
        "level times the notes to be learnt; material that stood before counts half."
    )
    return "\n".join([*lines, "", *textwrap.wrap(legend, width)])


def _section(score: Score, section_map: SectionMap, found: SectionWorkload) -> dict[str, Any]:
    section = section_map.section(found.section_id)
    first, last = measure_range(score, section.start, section.end)
    return {
        "name": section.name,
        "from_measure": first,
        "to_measure": last,
        "depth": section_map.depth(found.section_id),
        "rank": found.rank,
        "difficulty": round(found.difficulty, _DIGITS),
        "level": round(found.level, _DIGITS),
        "work": round(found.work, 1),
        "seconds": round(found.features.seconds, 2),
        "notes": found.features.notes,
        "why": list(found.reasons),
    }
