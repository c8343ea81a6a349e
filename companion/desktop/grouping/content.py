"""What the page of the groups shows, as plain values."""

from __future__ import annotations

from dataclasses import dataclass

from companion.history.drill_days import DrillDay


@dataclass(frozen=True, slots=True, kw_only=True)
class RunLine:
    """A run: place, hand, how it is grouped, and what its drills came to last."""

    run_id: str
    measure_index: int
    measures: str
    hand: str
    notes: int
    groups: int
    way: str
    tries: int
    evenness: str
    delay: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillLine:
    """A drill that can be played, and its days."""

    drill_id: str
    title: str
    days: tuple[DrillDay, ...] = ()
