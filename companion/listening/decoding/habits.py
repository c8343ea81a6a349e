"""What is known of the player after some passages: the tempo, where they begin and where they stop.

Practice comes back: who began at a place is likely to begin there again, and who stopped at a place
may stop there again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

REMEMBERED_LANDINGS = 6
"""So many places where the player began are expected to be begun at again."""


@dataclass(frozen=True, slots=True)
class Habits:
    """The player as heard so far.

    Parameters
    ----------
    seconds_per_quarter
        Tempo of the last path that was believed.
    landings, ends
        Where the last passages began, and where the player was just before (quarters, -1 at the
        start of the take).
    believed_seconds
        When the last onset was reached at which a passage came to be believed.
    """

    seconds_per_quarter: float
    landings: tuple[float, ...] = ()
    ends: tuple[float, ...] = ()
    believed_seconds: float = -1.0

    def at_tempo(self, seconds_per_quarter: float) -> Habits:
        """The same player at another tempo."""
        return replace(self, seconds_per_quarter=seconds_per_quarter)

    def with_passage(self, began: float, came_from: float, reached_seconds: float) -> Habits:
        """The player after one more passage has come to be believed."""
        keep = slice(1 - REMEMBERED_LANDINGS, None)
        return replace(
            self,
            landings=(*self.landings[keep], began),
            ends=(*self.ends[keep], came_from),
            believed_seconds=reached_seconds,
        )
