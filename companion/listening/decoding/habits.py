"""What is known of the player after some passages: the tempo, where they begin and where they stop.

Practice comes back: who began at a place is likely to begin there again, and who stopped at a place
may stop there again.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

REMEMBERED_LANDINGS = 6
"""So many places where the player began are expected to be begun at again."""


NOTES_PER_PASSAGE = 25
"""Who starts anew seldomer than once in so many notes is expected to go on doing so (practice takes
have about sixty; a smaller figure believes sooner that a piece is being played through)."""


@dataclass(frozen=True, slots=True)
class Habits:
    """The player as heard so far.

    Parameters
    ----------
    seconds_per_quarter
        Tempo of the last path that was believed.
    began_notes
        With which notes of the take (counted) the last passages began, in rising order.
    landings, ends
        Where they began, and where the player was just before (quarters, -1 at the start of the
        take).
    passages
        How many there were so far.
    """

    seconds_per_quarter: float
    began_notes: tuple[int, ...] = ()
    landings: tuple[float, ...] = ()
    ends: tuple[float, ...] = ()
    passages: int = 0

    def at_tempo(self, seconds_per_quarter: float) -> Habits:
        """The same player at another tempo."""
        # Once a note: ``replace`` is slow.
        return Habits(
            seconds_per_quarter, self.began_notes, self.landings, self.ends, self.passages
        )

    def with_passage(self, began_note: int, landing: float, came_from: float) -> Habits:
        """The player after a passage has come to be believed.

        What was believed of the notes since it began was a mistake and is forgotten.
        """
        before = sum(note < began_note for note in self.began_notes)
        first = max(0, before + 1 - REMEMBERED_LANDINGS)
        return replace(
            self,
            began_notes=(*self.began_notes[first:before], began_note),
            landings=(*self.landings[first:before], landing),
            ends=(*self.ends[first:before], came_from),
            passages=self.passages - len(self.began_notes) + before + 1,
        )

    def restraint(self, notes: int) -> float:
        """What speaks against a new start, in nats, with a player who hardly starts anew.

        The rate of new starts as seen in so many notes of this take, beginning with the usual one.
        """
        return max(0.0, math.log((notes / NOTES_PER_PASSAGE + 1.0) / max(1, self.passages)))
