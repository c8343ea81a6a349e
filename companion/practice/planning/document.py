"""What the pianist has said about practising a piece: time, days off, from memory or not."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from companion.history.planning.situation import Availability

PLAN = "plan of practice"
"""Kind of the document that holds the choices of the pianist."""

DAMAGED = "The stored choices for the plan are damaged: the plan goes by the usual ones."


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanChoices:
    """What the plan of a piece goes by besides what was heard."""

    availability: Availability = field(default_factory=Availability)
    from_memory: bool = False


def choices_to_text(choices: PlanChoices) -> str:
    """Write the choices; "" for the usual ones."""
    if choices == PlanChoices():
        return ""
    availability = choices.availability
    content = {
        "minutes": list(availability.minutes_by_weekday),
        "days_off": sorted(day.isoformat() for day in availability.days_off),
        "other_minutes": {day.isoformat(): minutes for day, minutes in availability.other_minutes},
        "from_memory": choices.from_memory,
    }
    return json.dumps(content)


def text_to_choices(text: str) -> tuple[PlanChoices, str]:
    """Return the choices, and what was wrong with the text, if anything."""
    if not text:
        return PlanChoices(), ""
    try:
        return _choices(json.loads(text)), ""
    except (ValueError, KeyError, TypeError, AttributeError):
        return PlanChoices(), DAMAGED


def _choices(content: Mapping[str, object]) -> PlanChoices:
    minutes, days_off = content["minutes"], content["days_off"]
    other = content["other_minutes"]
    if not isinstance(minutes, list) or not isinstance(days_off, list):
        raise TypeError("lists are expected")
    if not isinstance(other, dict):
        raise TypeError("an object is expected")
    return PlanChoices(
        availability=Availability(
            minutes_by_weekday=tuple(int(each) for each in minutes),
            days_off=frozenset(date.fromisoformat(each) for each in days_off),
            other_minutes=tuple(
                sorted((date.fromisoformat(day), int(each)) for day, each in other.items())
            ),
        ),
        from_memory=content["from_memory"] is True,
    )
