"""The order of work: which section is how hard within the piece, and the teacher's word on it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from companion.analysis.workload.model import SectionWorkload, Workload
from companion.score.sections.section_map import SectionMap

LOWEST_LEVEL, MIDDLE_LEVEL, HIGHEST_LEVEL = 1.0, 3.0, 5.0
SMALLEST_SPREAD = 0.5
"""Difference of difficulty that is needed to use the whole scale: even pieces stay near 3."""


def ranked_and_levelled(
    sections: Sequence[SectionWorkload], section_map: SectionMap
) -> tuple[SectionWorkload, ...]:
    """Give sections their level, work and rank from their difficulties."""
    leaves = {section.section_id for section in section_map.leaves}
    by_id = {section.section_id: section for section in sections}
    division = [by_id[name] for name in by_id if name in leaves]
    lowest = min((s.difficulty for s in division), default=0.0)
    highest = max((s.difficulty for s in division), default=0.0)
    middle = (lowest + highest) / 2
    spread = max(highest - lowest, SMALLEST_SPREAD)
    ranks = ranks_of(sections, section_map, lambda section: section.difficulty)
    found = []
    for section in sections:
        level = (
            MIDDLE_LEVEL + (HIGHEST_LEVEL - LOWEST_LEVEL) * (section.difficulty - middle) / spread
        )
        level = min(HIGHEST_LEVEL, max(LOWEST_LEVEL, level))
        found.append(
            replace(
                section,
                level=level,
                work=level * section.features.effective_notes,
                rank=ranks[section.section_id],
            )
        )
    return tuple(found)


def hardest_first(
    workload: Workload, section_map: SectionMap, teacher_order: Sequence[str] = ()
) -> tuple[str, ...]:
    """The sections of the finest division in the order in which to work on them.

    Parameters
    ----------
    teacher_order
        Ids of some or all sections in the order that the teacher wants. They keep that order among
        themselves, in the places that the estimate gives to them together; where all are named the
        teacher's order is the order. Ids that are gone from the map are passed over.
    """
    leaves = {section.section_id for section in section_map.leaves}
    estimated = sorted(
        (section for section in workload.sections if section.section_id in leaves),
        key=lambda section: (section.rank, section.section_id),
    )
    names = [section.section_id for section in estimated]
    wanted = [name for name in dict.fromkeys(teacher_order) if name in names]
    places = iter(wanted)
    named = set(wanted)
    return tuple(next(places) if name in named else name for name in names)


def ranks_of(
    sections: Sequence[SectionWorkload],
    section_map: SectionMap,
    hard: Callable[[SectionWorkload], float],
) -> dict[str, int]:
    """Ranks by section id, 1 for the hardest.

    The finest division is ranked for itself, and so is each level of sections that hold others.
    """
    leaves = {section.section_id for section in section_map.leaves}
    beside: dict[int, list[SectionWorkload]] = {}
    for section in sections:
        name = section.section_id
        depth = -1 if name in leaves else section_map.depth(name)
        beside.setdefault(depth, []).append(section)
    return {
        section.section_id: place
        for group in beside.values()
        for place, section in enumerate(sorted(group, key=lambda s: -hard(s)), 1)
    }
