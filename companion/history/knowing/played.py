"""What was played of a stretch: its cold takes, and the days on which it was touched."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from companion.history.days import DAY_STARTS_AT_HOUR
from companion.history.knowing.attempts import Attempt, cold_takes
from companion.history.knowing.clean import Thresholds, flaws
from companion.history.knowing.known import ColdTake
from companion.listening.notes import Hands


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedStretch:
    """What was played of a stretch.

    Parameters
    ----------
    days
        Practice days on which more than a spill of it was played, with whichever hands.
    apart_days
        Those of them on which hands were played separately.
    cold
        One a day at most, in rising order of days.
    take_count
        Takes that touched it at all, spills too.
    from_memory
        The same of the takes that were played from memory; None without any.
    """

    days: tuple[date, ...] = ()
    apart_days: tuple[date, ...] = ()
    cold: tuple[Attempt, ...] = ()
    take_count: int = 0
    from_memory: PlayedStretch | None = None

    def judged(
        self,
        target_quarters_per_minute: float | None,
        rules: Thresholds,
        day_starts_at_hour: int = DAY_STARTS_AT_HOUR,
    ) -> Sequence[ColdTake]:
        """Judge the cold takes by the rules and the target of today."""
        return tuple(
            ColdTake(
                day=attempt.day(day_starts_at_hour),
                attempt=attempt,
                flaws=flaws(attempt, target_quarters_per_minute, rules),
            )
            for attempt in self.cold
        )


def played_stretch(
    attempts: Iterable[Attempt], day_starts_at_hour: int = DAY_STARTS_AT_HOUR
) -> PlayedStretch:
    """Return what was played of one stretch, from all attempts at it in any order."""
    everything = tuple(attempts)
    by_heart = [attempt for attempt in everything if attempt.from_memory]
    return replace(
        _played(everything, day_starts_at_hour),
        from_memory=_played(by_heart, day_starts_at_hour) if by_heart else None,
    )


def _played(everything: Sequence[Attempt], day_starts_at_hour: int) -> PlayedStretch:
    touched = [attempt for attempt in everything if not attempt.is_spill]
    apart = (each for each in touched if each.hands is not Hands.BOTH)
    return PlayedStretch(
        cold=cold_takes(touched, day_starts_at_hour),
        days=tuple(sorted({each.day(day_starts_at_hour) for each in touched})),
        apart_days=tuple(sorted({each.day(day_starts_at_hour) for each in apart})),
        take_count=len({attempt.take_id for attempt in everything}),
    )
