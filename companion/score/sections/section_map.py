"""The section map: named stretches of the score, nested, each with its purpose.

Conventions
-----------
- A :class:`SectionMap` is a frozen value and every edit returns a new one, so that undo is going
  back to an earlier value. An edit that makes no sense raises
  :class:`companion.errors.EditRefused` with a plain sentence. The edits are in
  :mod:`companion.score.sections.edits`, the first proposal in
  :mod:`companion.score.sections.proposal`, the stored form in
  :mod:`companion.score.sections.document`.
- Sections are half-open: ``start`` belongs to the section, ``end`` does not.
- The top level covers the whole piece without gaps or overlaps; the children of a section, where
  it has any, cover it in the same way, and they are at least two.
"""

from __future__ import annotations

from dataclasses import dataclass
from uuid import uuid4

from companion.errors import EditRefused
from companion.score.model import Position


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A named stretch of the piece.

    Parameters
    ----------
    section_id
        Unique and kept over edits, so that history and words stay with the section.
    start, end
        First position inside and first position behind.
    parent_id
        The section that contains it, None on the top level.
    purpose
        What the section is for in the piece, in the pianist's words.
    how_to_play
        How it should be played, in the pianist's words.
    target_quarters_per_minute
        Own target tempo, None to take that of the score.
    why
        Why the border was proposed ("double bar", "new key signature"); empty once edited.
    confidence
        How sure the proposal is of that border, 0 to 1; None where nobody asked, and once edited.
    """

    section_id: str
    name: str
    start: Position
    end: Position
    parent_id: str | None = None
    purpose: str = ""
    how_to_play: str = ""
    target_quarters_per_minute: float | None = None
    why: str = ""
    confidence: float | None = None

    def contains(self, position: Position) -> bool:
        """Whether a position lies in the section."""
        return self.start <= position < self.end


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionMap:
    """All sections of a piece, sorted by start, parents before their children."""

    sections: tuple[Section, ...]

    @property
    def start(self) -> Position:
        """The beginning of the piece."""
        return self.sections[0].start if self.sections else Position(0)

    @property
    def end(self) -> Position:
        """The position behind the last section."""
        return max((section.end for section in self.sections), default=Position(0))

    @property
    def top_level(self) -> tuple[Section, ...]:
        """The sections that no other one contains."""
        return self.children(None)

    @property
    def leaves(self) -> tuple[Section, ...]:
        """The sections without children: the finest division of the piece."""
        parents = {section.parent_id for section in self.sections}
        return tuple(s for s in self.sections if s.section_id not in parents)

    @property
    def levels(self) -> int:
        """How deep the map is: 1 without nesting, 0 for an empty map."""
        return max((self.depth(section.section_id) + 1 for section in self.sections), default=0)

    @property
    def borders(self) -> tuple[Position, ...]:
        """Every place where a section begins, without the beginning of the piece, in order."""
        return tuple(sorted({section.start for section in self.sections} - {self.start}))

    def __contains__(self, section_id: object) -> bool:
        return any(section.section_id == section_id for section in self.sections)

    def section(self, section_id: str) -> Section:
        """Return the section with this id; raises EditRefused when there is none."""
        for section in self.sections:
            if section.section_id == section_id:
                return section
        raise EditRefused("This section is no longer in the map.")

    def children(self, section_id: str | None) -> tuple[Section, ...]:
        """The sections directly inside one, in order; None asks for the top level."""
        return tuple(s for s in self.sections if s.parent_id == section_id)

    def siblings(self, section_id: str) -> tuple[Section, ...]:
        """The sections beside one, itself among them, in order."""
        return self.children(self.section(section_id).parent_id)

    def next_sibling(self, section_id: str) -> Section | None:
        """The neighbour that follows under the same parent, None for the last one."""
        siblings = self.siblings(section_id)
        place = [s.section_id for s in siblings].index(section_id) + 1
        return siblings[place] if place < len(siblings) else None

    def ancestors(self, section_id: str) -> tuple[Section, ...]:
        """The sections around one, the nearest first."""
        around: list[Section] = []
        parent_id = self.section(section_id).parent_id
        while parent_id is not None:
            parent = self.section(parent_id)
            around.append(parent)
            parent_id = parent.parent_id
        return tuple(around)

    def descendants(self, section_id: str) -> tuple[Section, ...]:
        """Every section inside one, on all levels, in the order of the map."""
        inside = {section_id}
        found: list[Section] = []
        for section in self.sections:  # parents come before their children
            if section.parent_id in inside:
                inside.add(section.section_id)
                found.append(section)
        return tuple(found)

    def depth(self, section_id: str) -> int:
        """How many sections are around one: 0 on the top level."""
        return len(self.ancestors(section_id))

    def section_at(self, position: Position, level: int | None = None) -> Section | None:
        """The section at a position.

        Parameters
        ----------
        level
            0 for the top level, 1 for the one below, ...; where the map is not that deep the
            deepest one there is. None asks for the deepest.

        Returns
        -------
        Section or None
            None only outside the piece.
        """
        found: Section | None = None
        while level is None or found is None or self.depth(found.section_id) < level:
            inside = self.children(found.section_id if found else None)
            deeper = next((s for s in inside if s.contains(position)), None)
            if deeper is None:
                return found
            found = deeper
        return found


def new_section_id() -> str:
    """Make an id that no other section has, here or on any other machine."""
    return uuid4().hex[:16]


def arranged(sections: tuple[Section, ...] | list[Section]) -> SectionMap:
    """Put sections into the order of the map: by start, parents before their children."""
    by_id = {section.section_id: section for section in sections}

    def depth(section: Section) -> int:
        around = 0
        while section.parent_id is not None and around <= len(by_id):
            section = by_id[section.parent_id]
            around += 1
        return around

    return SectionMap(sections=tuple(sorted(sections, key=lambda s: (s.start, depth(s)))))


def validate(section_map: SectionMap, end: Position | None = None) -> None:
    """Make sure that the map keeps its promises.

    Parameters
    ----------
    end
        Where the piece ends (``score.end``), when that is known.

    Raises
    ------
    EditRefused
        With the first broken promise in words.
    """
    ids = [section.section_id for section in section_map.sections]
    if len(set(ids)) != len(ids):
        raise EditRefused("Two sections of the map share one identity.")
    seen: set[str | None] = {None}
    for section in section_map.sections:
        if section.parent_id is not None and section.parent_id not in ids:
            raise EditRefused(f"Section “{section.name}” lies in a section that is missing.")
        if section.parent_id not in seen:  # also where sections lie in each other in a circle
            raise EditRefused("The sections of the map are out of order.")
        seen.add(section.section_id)
    if arranged(section_map.sections).sections != section_map.sections:
        raise EditRefused("The sections of the map are out of order.")
    if not section_map.sections:
        return
    if section_map.start != Position(0):
        raise EditRefused("The first section does not begin with the piece.")
    if end is not None and section_map.end != end:
        raise EditRefused("The last section does not end with the piece.")
    _check_cover(section_map.top_level, section_map.start, section_map.end)
    for section in section_map.sections:
        children = section_map.children(section.section_id)
        if len(children) == 1:
            raise EditRefused(f"Section “{section.name}” holds a single section.")
        if children:
            _check_cover(children, section.start, section.end)


def _check_cover(sections: tuple[Section, ...], start: Position, end: Position) -> None:
    """Neighbours must touch, and together reach from start to end."""
    reached = start
    for section in sections:
        if section.start != reached:
            raise EditRefused(f"There is a gap or an overlap before section “{section.name}”.")
        if section.end <= section.start:
            raise EditRefused(f"Section “{section.name}” is empty.")
        reached = section.end
    if reached != end:
        raise EditRefused(f"Section “{sections[-1].name}” ends in the wrong place.")
