"""Walking over the map by keyboard: which section comes next, which lies above or below."""

from __future__ import annotations

from companion.desktop.section_map.layout import MapLayout
from companion.score.sections.section_map import Section, SectionMap


def row_of(layout: MapLayout, section: Section) -> tuple[Section, ...]:
    """The sections that stand in one row with this one."""
    for row in layout.rows:
        if section in row.sections:
            return row.sections
    return (section,)


def beside(layout: MapLayout, section: Section, step: int) -> Section | None:
    """The section ``step`` places further in the row, None at its end."""
    row = row_of(layout, section)
    index = row.index(section) + step
    return row[index] if 0 <= index < len(row) else None


def above(section_map: SectionMap, section: Section) -> Section | None:
    """The larger section around this one."""
    return next((s for s in section_map.sections if s.section_id == section.parent_id), None)


def inside(section_map: SectionMap, section: Section) -> Section | None:
    """The first section inside this one."""
    within = [s for s in section_map.sections if s.parent_id == section.section_id]
    return min(within, key=lambda found: found.start, default=None)
