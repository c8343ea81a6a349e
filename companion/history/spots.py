"""Spots that were marked while playing: places to come back to, kept with the piece."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from companion.score.model import Position

SPOTS = "marked spots"
"""Kind of the document."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A marked place; ``marked_at`` in UTC."""

    position: Position
    marked_at: datetime


def with_spot(spots: tuple[Spot, ...], spot: Spot) -> tuple[Spot, ...]:
    """Add a spot in order of place; marking the same measure again renews it."""
    others = [each for each in spots if each.position.measure_index != spot.position.measure_index]
    return tuple(sorted([*others, spot], key=lambda each: each.position))


def without_spot(spots: tuple[Spot, ...], measure_index: int) -> tuple[Spot, ...]:
    """Remove the spot in a measure."""
    return tuple(each for each in spots if each.position.measure_index != measure_index)


def spots_to_text(spots: tuple[Spot, ...]) -> str:
    """Write spots; "" for none."""
    if not spots:
        return ""
    return json.dumps(
        [
            {
                "measure": spot.position.measure_index,
                "offset": str(spot.position.offset_quarters),
                "at": spot.marked_at.isoformat(),
            }
            for spot in spots
        ]
    )


def spots_from(text: str) -> tuple[Spot, ...]:
    """Inverse of :func:`spots_to_text`; a damaged text holds no spots."""
    try:
        found = [
            Spot(
                position=Position(int(each["measure"]), Fraction(each["offset"])),
                marked_at=datetime.fromisoformat(each["at"]),
            )
            for each in json.loads(text or "[]")
        ]
    except (ValueError, KeyError, TypeError, ZeroDivisionError):
        return ()
    return tuple(sorted(found, key=lambda each: each.position))
