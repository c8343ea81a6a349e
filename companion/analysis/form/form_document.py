"""The section map for other programs: what ``companion sections --json`` prints."""

from __future__ import annotations

from typing import Any

from companion.score.model import Score
from companion.score.sections.proposal import measure_range
from companion.score.sections.section_map import Section, SectionMap


def form_document(score: Score, section_map: SectionMap) -> dict[str, Any]:
    """Return a section map as values that ``json`` can write, its places in quarters as printed.

    ``sections`` are those of the top level: their starts are the division of the piece. ``inside``
    are the sections and phrases within them, with the same fields; ``level`` counts from 0 for the
    top level, ``within`` is the place of the section around in the order of both lists.
    """
    number_of = {
        section.section_id: number
        for number, section in enumerate((*section_map.top_level, *_inner(section_map)))
    }

    def values(section: Section) -> dict[str, Any]:
        from_measure, to_measure = measure_range(score, section.start, section.end)
        document = {
            "name": section.name,
            "from_measure": from_measure,
            "to_measure": to_measure,
            "start": float(score.quarters_at(section.start)),
            "end": float(score.quarters_at(section.end)),
            "level": section_map.depth(section.section_id),
            "why": section.why,
            "confidence": section.confidence,
        }
        if section.parent_id is not None:
            document["within"] = number_of[section.parent_id]
        return document

    return {
        "sections": [values(section) for section in section_map.top_level],
        "inside": [values(section) for section in _inner(section_map)],
    }


def _inner(section_map: SectionMap) -> tuple[Section, ...]:
    return tuple(section for section in section_map.sections if section.parent_id is not None)
