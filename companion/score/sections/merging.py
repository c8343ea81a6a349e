"""Bringing a new proposal into a map that the pianist has worked on.

What was edited stays, word for word and border for border; only stretches that stand exactly as
they were proposed take the new proposal. A stretch is a section of the top level with everything in
it: who has named a phrase has looked at the section around it.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

from companion.score.model import Position
from companion.score.sections.section_map import (
    Section,
    SectionMap,
    arranged,
    new_section_id,
    validate,
)


def merge_proposal(edited: SectionMap, before: SectionMap, after: SectionMap) -> SectionMap:
    """Take a new proposal wherever the pianist has not touched the old one.

    Parameters
    ----------
    edited
        The map as it is now.
    before
        The proposal that it grew out of. An empty map (not known any more) means that everything
        may have been touched.
    after
        The new proposal for the same score.

    Returns
    -------
    SectionMap
        Every section that was edited, added or regrouped, unchanged and with its id; elsewhere the
        sections of ``after``, cut where edited ones begin.
    """
    if not edited.sections or edited == before:
        return after
    if edited.end != after.end or not after.sections:
        return edited  # another text of the piece: its places mean something else
    old = {section.section_id: section for section in before.sections}
    kept: list[Section] = []
    replaced: list[tuple[Position, Position]] = []
    for untouched, group in groupby(
        edited.top_level, key=lambda top: _untouched(edited, top, before, old)
    ):
        stretch = list(group)
        if untouched:
            replaced.append((stretch[0].start, stretch[-1].end))
        else:
            for top in stretch:
                kept += [top, *edited.descendants(top.section_id)]
    if not kept:
        return after
    taken = {section.section_id for section in kept}
    for start, end in replaced:
        kept += _cut_out(after, start, end, taken)
    merged = arranged(kept)
    validate(merged, after.end)
    return merged


def _untouched(
    edited: SectionMap, top: Section, before: SectionMap, old: dict[str, Section]
) -> bool:
    inside = [top, *edited.descendants(top.section_id)]
    if any(old.get(section.section_id) != section for section in inside):
        return False
    # nothing was taken away either
    return len(inside) == 1 + len(before.descendants(top.section_id))


def _cut_out(after: SectionMap, start: Position, end: Position, taken: set[str]) -> list[Section]:
    """What a proposal has between two places, as sections of their own."""
    found: list[Section] = []
    new_ids: dict[str, str] = {}
    for section in after.sections:
        low, high = max(section.start, start), min(section.end, end)
        if low >= high:
            continue
        section_id = section.section_id
        if section_id in taken:
            section_id = new_section_id()
        new_ids[section.section_id] = section_id
        parent_id = new_ids[section.parent_id] if section.parent_id is not None else None
        found.append(
            replace(section, section_id=section_id, start=low, end=high, parent_id=parent_id)
        )
    taken.update(section.section_id for section in found)
    return _without_only_children(found)


def _without_only_children(sections: list[Section]) -> list[Section]:
    """Where cutting has left a section with a single one inside, the outer one goes without it."""
    result = list(sections)
    for section in sections:
        children = [s for s in result if s.parent_id == section.section_id]
        if len(children) != 1:
            continue
        only = children[0]
        result = [
            replace(s, parent_id=section.section_id) if s.parent_id == only.section_id else s
            for s in result
            if s is not only
        ]
    return result
