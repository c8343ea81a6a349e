"""What a take was for one section, and which takes of a day were cold.

Conventions
-----------
- An :class:`Attempt` is the *first* time that a take came through a section: the passage up to the
  first jump or restart. What the same take does with the section afterwards is practice, no longer
  an attempt from nothing.
- A **cold take** is the first take of a section on a practice day, nothing of it played before on
  that day. Three cases that the sentence leaves open are settled here (project conventions):

  - running over into the next section by less than :data:`SPILL_COVERAGE` of it does not count as
    having played it;
  - a take that covers less than :data:`ATTEMPT_COVERAGE` of the section, and did not break off in
    it, was a look at a fragment: it is no cold take, and nothing later on that day is one either;
  - so is a take hands separately.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from companion.history.days import DAY_STARTS_AT_HOUR, practice_day
from companion.listening.notes import Hands

SPILL_COVERAGE = 0.1
"""Share (0-1) of a section below which it was only run over into."""

ATTEMPT_COVERAGE = 0.5
"""Share (0-1) of a section from which a take was meant for the section as a whole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """How a take went through a section for the first time.

    Parameters
    ----------
    take_id, started_at, zone
        Of the take; the moment in UTC, the zone in which it was played.
    hands
        Those that played.
    coverage
        Share (0-1) of the section's notes that were passed over before the first jump.
    complete
        Whether that was the whole section.
    began_again
        Whether the section was left by going back and beginning again before it was complete.
    expected, wrong, missed, added
        Counts of notes; a wrong key counts once.
    edge_errors
        Wrong or missed top and bottom notes where the section begins and ends.
    stops
        Breaks longer than a beat and a half.
    running_tempo_quarters_per_minute
        None when there were too few beats to tell.
    from_memory
        Whether the take was played without the score. It is said of the take and may be said later,
        so it is joined to the stored attempts and not kept with them.
    """

    take_id: str
    started_at: datetime
    zone: str
    hands: Hands
    coverage: float
    complete: bool
    began_again: bool
    expected: int
    wrong: int
    missed: int
    added: int
    edge_errors: int
    stops: int
    running_tempo_quarters_per_minute: float | None
    from_memory: bool = False

    @property
    def errors_per_100(self) -> float | None:
        """Wrong, missed and added notes per 100 written ones; None when nothing was expected."""
        if not self.expected:
            return None
        return 100.0 * (self.wrong + self.missed + self.added) / self.expected

    @property
    def is_spill(self) -> bool:
        """Whether the take only ran over into the section, or just touched its end."""
        return self.coverage < SPILL_COVERAGE and not self.began_again

    @property
    def is_whole(self) -> bool:
        """Whether the take was meant for the section as a whole, whatever became of it."""
        if self.hands is not Hands.BOTH:
            return False
        return self.complete or self.began_again or self.coverage >= ATTEMPT_COVERAGE

    def day(self, day_starts_at_hour: int = DAY_STARTS_AT_HOUR) -> date:
        """The practice day of the take, in the zone in which it was played."""
        return practice_day(self.started_at, self.zone, day_starts_at_hour)


def cold_takes(
    attempts: Iterable[Attempt], day_starts_at_hour: int = DAY_STARTS_AT_HOUR
) -> tuple[Attempt, ...]:
    """Return the cold takes of one section, at most one a day, oldest first.

    Parameters
    ----------
    attempts
        All attempts at the section, in any order; imported and merged takes among them.
    """
    first_of_day: dict[date, Attempt] = {}
    for attempt in sorted(attempts, key=lambda each: (each.started_at, each.take_id)):
        if not attempt.is_spill:
            first_of_day.setdefault(attempt.day(day_starts_at_hour), attempt)
    return tuple(attempt for _, attempt in sorted(first_of_day.items()) if attempt.is_whole)
