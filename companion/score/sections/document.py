"""The section map as plain JSON values, for the history and for handing a piece to someone else.

The document carries its version; a newer one is refused with a plain sentence. Positions are
``[measure_index, "offset in quarters"]`` with the offset as an exact fraction ("3/2").
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from companion.errors import EditRefused
from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap, arranged, validate

FORMAT = 1


def section_map_to_document(section_map: SectionMap) -> dict[str, Any]:
    """Return the map as values that ``json`` can write; inverse of the function below."""
    return {
        "format": FORMAT,
        "sections": [
            {
                "id": section.section_id,
                "name": section.name,
                "start": _position_to_list(section.start),
                "end": _position_to_list(section.end),
                "parent": section.parent_id,
                "purpose": section.purpose,
                "how_to_play": section.how_to_play,
                "target_quarters_per_minute": section.target_quarters_per_minute,
                "why": section.why,
                "confidence": section.confidence,
            }
            for section in section_map.sections
        ],
    }


def section_map_from_document(document: object) -> SectionMap:
    """Read a map from the values that ``json`` gave; inverse of the function above.

    Raises
    ------
    EditRefused
        When the document was made by a newer version, is damaged, or breaks the promises of a map.
    """
    try:
        version, items = document["format"], document["sections"]  # type: ignore[index]
        if version > FORMAT:
            raise EditRefused("This section map was made by a newer version of the program.")
        section_map = arranged([_section(item) for item in items])
    except (TypeError, KeyError, ValueError, IndexError, ZeroDivisionError) as error:
        raise EditRefused("This section map is damaged and cannot be read.") from error
    validate(section_map)
    return section_map


def _section(item: dict[str, Any]) -> Section:
    target = item.get("target_quarters_per_minute")
    sure = item.get("confidence")
    parent = item.get("parent")
    return Section(
        section_id=str(item["id"]),
        name=str(item["name"]),
        start=_position(item["start"]),
        end=_position(item["end"]),
        parent_id=None if parent is None else str(parent),
        purpose=str(item.get("purpose", "")),
        how_to_play=str(item.get("how_to_play", "")),
        target_quarters_per_minute=None if target is None else float(target),
        why=str(item.get("why", "")),
        confidence=None if sure is None else float(sure),
    )


def _position_to_list(position: Position) -> list[int | str]:
    return [position.measure_index, str(position.offset_quarters)]


def _position(value: Any) -> Position:
    measure_index, offset = value
    return Position(int(measure_index), Fraction(offset))
