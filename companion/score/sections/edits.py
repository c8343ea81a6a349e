"""Edits of the section map. Each takes a map and returns a new one; undo is keeping the old one.

Conventions
-----------
- Ids are kept: in a split and in a merge the first part keeps the id, so that what was practised
  and written stays with it.
- Words are never lost silently: when two sections become one, their purposes and their ways of
  playing are joined line by line.
- A section never holds a single child: where an edit would leave one, the two become one.
- All raise :class:`companion.errors.EditRefused` with one plain sentence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from companion.errors import EditRefused
from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap, arranged, new_section_id

SLOWEST_TARGET = 10.0
FASTEST_TARGET = 600.0
LONGEST_NAME = 80


def rename(section_map: SectionMap, section_id: str, name: str) -> SectionMap:
    """Give a section another name (1 to 80 letters, spaces at the ends are dropped)."""
    tidy = " ".join(name.split())
    if not tidy:
        raise EditRefused("A section needs a name.")
    if len(tidy) > LONGEST_NAME:
        raise EditRefused(f"A section's name can have at most {LONGEST_NAME} letters.")
    return _with(section_map, replace(section_map.section(section_id), name=tidy))


def set_purpose(section_map: SectionMap, section_id: str, purpose: str) -> SectionMap:
    """Write what the section is for in the piece."""
    return _with(section_map, replace(section_map.section(section_id), purpose=purpose.strip()))


def set_how_to_play(section_map: SectionMap, section_id: str, how_to_play: str) -> SectionMap:
    """Write how the section should be played."""
    edited = replace(section_map.section(section_id), how_to_play=how_to_play.strip())
    return _with(section_map, edited)


def set_target(
    section_map: SectionMap, section_id: str, quarters_per_minute: float | None
) -> SectionMap:
    """Set the target tempo of a section, 10 to 600 quarters a minute; None takes the score's."""
    if quarters_per_minute is not None and not (
        SLOWEST_TARGET <= quarters_per_minute <= FASTEST_TARGET
    ):
        raise EditRefused(
            f"A target tempo lies between {SLOWEST_TARGET:.0f} and {FASTEST_TARGET:.0f} "
            "quarter notes a minute."
        )
    edited = replace(
        section_map.section(section_id), target_quarters_per_minute=quarters_per_minute
    )
    return _with(section_map, edited)


def split(
    section_map: SectionMap, section_id: str, position: Position, name: str = ""
) -> SectionMap:
    """Cut a section in two neighbours; what it holds is dealt out, and cut where it must be.

    Parameters
    ----------
    position
        First position of the second part: inside the section, not at its start.
    name
        Name of the second part, by default that of the first with a number.
    """
    section = section_map.section(section_id)
    _refuse_outside(section, position)
    second = replace(
        section,
        section_id=new_section_id(),
        name=name.strip() or _fresh_name(section_map, section.name),
        start=position,
        purpose="",
        how_to_play="",
        why="",
        confidence=None,
    )
    crossing = next(
        (c for c in section_map.children(section_id) if c.start < position < c.end), None
    )
    if crossing is not None:
        section_map = split(section_map, crossing.section_id, position)
    kept = {s.section_id: s for s in section_map.sections}
    kept[section_id] = replace(section, end=position)
    kept[second.section_id] = second
    for child in section_map.children(section_id):
        if child.start >= position:
            kept[child.section_id] = replace(child, parent_id=second.section_id)
    parted = arranged(list(kept.values()))
    return _joined_only_child(_lifted_only_child(parted, second.section_id), section_id)


def subdivide(
    section_map: SectionMap, section_id: str, positions: Sequence[Position]
) -> SectionMap:
    """Divide a section into children that begin at its start and at the given positions.

    Where the section has children already, the positions cut those. Children of "B" are named
    "B 1", "B 2" and so on.
    """
    section = section_map.section(section_id)
    places = sorted(set(positions))
    if not places:
        raise EditRefused(f"Choose a place inside section “{section.name}” to divide it.")
    for position in places:
        _refuse_outside(section, position)
    children = section_map.children(section_id)
    if children:
        existing = {child.start for child in children}
        new_places = [place for place in places if place not in existing]
        if not new_places:
            raise EditRefused(f"Section “{section.name}” is divided there already.")
        for place in new_places:
            inner = next(c for c in section_map.children(section_id) if c.contains(place))
            section_map = split(section_map, inner.section_id, place)
        return section_map
    starts = [section.start, *places]
    ends = [*places, section.end]
    new = [
        Section(
            section_id=new_section_id(),
            name=f"{section.name} {number}",
            start=start,
            end=end,
            parent_id=section_id,
        )
        for number, (start, end) in enumerate(zip(starts, ends, strict=True), 1)
    ]
    return arranged([*section_map.sections, *new])


def merge(section_map: SectionMap, section_id: str) -> SectionMap:
    """Join a section with the neighbour that follows it under the same parent.

    The first keeps its id and name. Where only one of the two is divided, the other becomes one
    more child beside those of its neighbour, so that no border is lost but the one between them.
    """
    first = section_map.section(section_id)
    second = section_map.next_sibling(section_id)
    if second is None:
        raise EditRefused(f"Section “{first.name}” has no neighbour after it to be joined with.")
    kept = {s.section_id: s for s in section_map.sections}
    if section_map.children(section_id) and not section_map.children(second.section_id):
        kept[second.section_id] = replace(second, parent_id=section_id)
        kept[section_id] = replace(first, end=second.end)
        return arranged(list(kept.values()))
    if section_map.children(second.section_id) and not section_map.children(section_id):
        opening = Section(
            section_id=new_section_id(),
            name=_fresh_name(section_map, first.name),
            start=first.start,
            end=first.end,
            parent_id=section_id,
        )
        kept[opening.section_id] = opening
    for child in section_map.children(second.section_id):
        kept[child.section_id] = replace(child, parent_id=section_id)
    del kept[second.section_id]
    kept[section_id] = replace(_with_words_of(first, second), end=second.end)
    merged = arranged(list(kept.values()))
    return merged if first.parent_id is None else _joined_only_child(merged, first.parent_id)


def move_border(section_map: SectionMap, border: Position, to: Position) -> SectionMap:
    """Move a border; every section on any level that begins or ends there goes with it.

    Raises
    ------
    EditRefused
        At the ends of the piece, where there is no border, and when a section would vanish.
    """
    if border not in section_map.borders:
        raise EditRefused("There is no border between two sections at that place.")
    moved: list[Section] = []
    for section in section_map.sections:
        if section.start == border:
            kept = to == border
            section = replace(
                section,
                start=to,
                why=section.why if kept else "",
                confidence=section.confidence if kept else None,
            )
        elif section.end == border:
            section = replace(section, end=to)
        if section.end <= section.start:
            raise EditRefused(f"Nothing would be left of section “{section.name}”.")
        moved.append(section)
    return arranged(moved)


def nest(section_map: SectionMap, first_id: str, last_id: str, name: str) -> SectionMap:
    """Group neighbouring sections, from the first to the last of them, under a new one."""
    siblings = section_map.siblings(first_id)
    ids = [s.section_id for s in siblings]
    if last_id not in ids:
        section_map.section(last_id)
        raise EditRefused("Only sections beside each other on one level can be grouped.")
    low, high = sorted((ids.index(first_id), ids.index(last_id)))
    group = siblings[low : high + 1]
    if len(group) == 1:
        raise EditRefused("Choose at least two neighbouring sections to group them.")
    if len(group) == len(siblings) and siblings[0].parent_id is not None:
        parent = section_map.section(siblings[0].parent_id)
        raise EditRefused(f"These sections already make up section “{parent.name}”.")
    tidy = " ".join(name.split())
    if not tidy:
        raise EditRefused("A section needs a name.")
    around = Section(
        section_id=new_section_id(),
        name=tidy[:LONGEST_NAME],
        start=group[0].start,
        end=group[-1].end,
        parent_id=group[0].parent_id,
    )
    grouped = {s.section_id for s in group}
    kept = [
        replace(s, parent_id=around.section_id) if s.section_id in grouped else s
        for s in section_map.sections
    ]
    return arranged([*kept, around])


def unnest(section_map: SectionMap, section_id: str) -> SectionMap:
    """Take away a section that holds others; they come up to its level."""
    section = section_map.section(section_id)
    if not section_map.children(section_id):
        raise EditRefused(f"Section “{section.name}” holds no other sections.")
    kept = [
        replace(s, parent_id=section.parent_id) if s.parent_id == section_id else s
        for s in section_map.sections
        if s.section_id != section_id
    ]
    return arranged(kept)


def _with(section_map: SectionMap, edited: Section) -> SectionMap:
    return SectionMap(
        sections=tuple(
            edited if s.section_id == edited.section_id else s for s in section_map.sections
        )
    )


def _refuse_outside(section: Section, position: Position) -> None:
    if position == section.start:
        raise EditRefused(f"Section “{section.name}” begins there already.")
    if not section.contains(position):
        raise EditRefused(f"That place is not inside section “{section.name}”.")


def _fresh_name(section_map: SectionMap, name: str) -> str:
    """``name`` with the first number that is free: "B 2", then "B 3"."""
    taken = {section.name for section in section_map.sections}
    stem, _, tail = name.rpartition(" ")
    stem = stem if stem and tail.isdigit() else name
    number = 2
    while f"{stem} {number}" in taken:
        number += 1
    return f"{stem} {number}"


def _with_words_of(kept: Section, gone: Section) -> Section:
    """``kept`` with the words of ``gone`` added to its own, and its target where it has none."""

    def both(first: str, second: str) -> str:
        return "\n".join(text for text in dict.fromkeys((first, second)) if text)

    target = kept.target_quarters_per_minute
    return replace(
        kept,
        purpose=both(kept.purpose, gone.purpose),
        how_to_play=both(kept.how_to_play, gone.how_to_play),
        target_quarters_per_minute=gone.target_quarters_per_minute if target is None else target,
    )


def _joined_only_child(section_map: SectionMap, section_id: str) -> SectionMap:
    """Where a section holds a single child, let the section take its words and its children."""
    children = section_map.children(section_id)
    if len(children) != 1:
        return section_map
    child = children[0]
    kept = {s.section_id: s for s in section_map.sections if s is not child}
    for grandchild in section_map.children(child.section_id):
        kept[grandchild.section_id] = replace(grandchild, parent_id=section_id)
    kept[section_id] = _with_words_of(section_map.section(section_id), child)
    return arranged(list(kept.values()))


def _lifted_only_child(section_map: SectionMap, section_id: str) -> SectionMap:
    """Where a new section holds a single child, let the child, which is older, take its place."""
    if len(section_map.children(section_id)) != 1:
        return section_map
    return unnest(section_map, section_id)
