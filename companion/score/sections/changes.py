"""What becomes of the sections when one map takes the place of another."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap


class ChangeKind(StrEnum):
    """What becomes of one section."""

    STAYS = "stays"
    RENAMED = "renamed"
    NEW = "new"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class SectionChange:
    """One section: ``before`` is None for a new one, ``after`` for one that goes."""

    kind: ChangeKind
    before: Section | None
    after: Section | None

    @property
    def section(self) -> Section:
        """The section as it will be, or as it was."""
        section = self.after or self.before
        if section is None:
            raise ValueError("a change without a section")
        return section


def section_changes(before: SectionMap, after: SectionMap) -> tuple[SectionChange, ...]:
    """Return what becomes of every section, in order of place, the larger ones first.

    A section is the same where it covers the same stretch on the same level: its results stay.
    """
    old = {_place(before, section): section for section in before.sections}
    new = {_place(after, section): section for section in after.sections}
    found = []
    for place, section in new.items():
        was = old.get(place)
        if was is None:
            kind = ChangeKind.NEW
        else:
            kind = ChangeKind.STAYS if was.name == section.name else ChangeKind.RENAMED
        found.append(SectionChange(kind, was, section))
    found += [
        SectionChange(ChangeKind.GONE, section, None)
        for place, section in old.items()
        if place not in new
    ]
    return tuple(
        sorted(found, key=lambda c: (c.section.start, _latest_first(c.section.end), c.kind.value))
    )


def _place(section_map: SectionMap, section: Section) -> tuple[object, ...]:
    return (section.start, section.end, section_map.depth(section.section_id))


def _latest_first(end: Position) -> tuple[int, Fraction]:
    return (-end.measure_index, -end.offset_quarters)
