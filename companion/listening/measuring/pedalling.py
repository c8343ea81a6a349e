"""The damper pedal as stretches of time.

The pedal counts as down from a value of 64 on and as up again below 54: pianos that send half
pedal hover around the limit of the MIDI standard, 64 (hysteresis: common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from companion.listening.notes import PedalChange

DAMPER = 64
DOWN_FROM = 64
UP_BELOW = 54


@dataclass(frozen=True, slots=True)
class DamperTime:
    """Stretches of time with the damper pedal down, in seconds, in rising order."""

    down: tuple[tuple[float, float], ...]

    def share(self, from_seconds: float, to_seconds: float) -> float:
        """Share (0-1) of a stretch of time with the pedal down; 0 for an empty stretch."""
        length = to_seconds - from_seconds
        if length <= 0.0:
            return 0.0
        held = sum(
            max(0.0, min(up, to_seconds) - max(down, from_seconds)) for down, up in self.down
        )
        return held / length


def damper_time(pedals: Sequence[PedalChange]) -> DamperTime | None:
    """Find when the damper pedal was down; None when the take has no damper pedal at all."""
    changes = [pedal for pedal in pedals if pedal.controller == DAMPER]
    if not changes:
        return None
    stretches: list[tuple[float, float]] = []
    down_since: float | None = None
    for change in sorted(changes, key=lambda pedal: pedal.at_seconds):
        if down_since is None and change.value >= DOWN_FROM:
            down_since = change.at_seconds
        elif down_since is not None and change.value < UP_BELOW:
            stretches.append((down_since, change.at_seconds))
            down_since = None
    if down_since is not None:
        stretches.append((down_since, float("inf")))
    return DamperTime(tuple(stretches))
