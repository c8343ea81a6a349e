"""Whether a take of a section was clean, and if not, why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from companion.history.knowing.attempts import Attempt


@dataclass(frozen=True, slots=True, kw_only=True)
class Thresholds:
    """What counts as clean and as known. They belong to the piece; these are the defaults.

    The defaults are project conventions. Two errors in 100 notes is what most professional
    performances stay within (of 88 recorded ones in the Vienna 4x22 corpus, 77 %).

    Parameters
    ----------
    errors_per_100
        Most errors per 100 written notes, a wrong key counted once.
    tempo_share
        Least running tempo as a share of the target.
    edge_errors
        Most wrong or missed melody and bass notes where the section begins and ends.
    stops
        Most breaks longer than a beat and a half.
    days_to_know
        Clean cold takes, each on its own day, until a section is known.
    spread_days
        Days from the first to the last of these at least, both counted; 1 asks for nothing more
        than that each has its own day.
    lapse_of, lapse_misses
        Known no longer when so many of the last so many cold takes were not clean.
    """

    errors_per_100: float = 2.0
    tempo_share: float = 0.95
    edge_errors: int = 0
    days_to_know: int = 3
    lapse_of: int = 3
    lapse_misses: int = 2
    stops: int = 0
    spread_days: int = 1

    def __post_init__(self) -> None:
        if not 0 <= self.errors_per_100 <= 100 or not 0 <= self.tempo_share <= 2:
            raise ValueError("errors are 0 to 100 per 100 notes, the tempo share is 0 to 2")
        if self.days_to_know < 1 or not 1 <= self.lapse_misses <= self.lapse_of:
            raise ValueError("a section is known after one day at least, and lapses by some misses")
        if self.edge_errors < 0 or self.stops < 0 or self.spread_days < 1:
            raise ValueError("slips and stops are counted from 0, days from 1")

    @property
    def days_needed(self) -> int:
        """Fewest days within which a section can become known."""
        return max(self.days_to_know, self.spread_days)


class Flaw(StrEnum):
    """Why a take was not clean."""

    INCOMPLETE = "not played to its end"
    BEGAN_AGAIN = "went back and began again"
    STOPPED = "stopped"
    ERRORS = "too many errors"
    EDGE = "a slip in melody or bass where it begins or ends"
    SLOW = "slower than the target"


def flaws(
    attempt: Attempt,
    target_quarters_per_minute: float | None,
    thresholds: Thresholds | None = None,
) -> tuple[Flaw, ...]:
    """Return why an attempt was not clean; empty when it was.

    Without a target, or with too few beats to tell a tempo, the tempo is not judged.
    """
    limits = thresholds if thresholds is not None else Thresholds()
    found = []
    if attempt.began_again:
        found.append(Flaw.BEGAN_AGAIN)
    elif not attempt.complete:
        found.append(Flaw.INCOMPLETE)
    if attempt.stops > limits.stops:
        found.append(Flaw.STOPPED)
    errors = attempt.errors_per_100
    if errors is None or errors > limits.errors_per_100:
        found.append(Flaw.ERRORS)
    if attempt.edge_errors > limits.edge_errors:
        found.append(Flaw.EDGE)
    tempo = attempt.running_tempo_quarters_per_minute
    if (
        target_quarters_per_minute is not None
        and tempo is not None
        and tempo < limits.tempo_share * target_quarters_per_minute
    ):
        found.append(Flaw.SLOW)
    return tuple(found)
