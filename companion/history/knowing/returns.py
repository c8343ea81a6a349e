"""When to come back to a section: the open spaced-repetition algorithm of the ``fsrs`` package.

The algorithm was fitted to flash cards. Here it only spaces the returns; its own probability is
never shown as the likelihood of playing well, which :mod:`companion.history.knowing.retention`
estimates from the takes themselves. It is fed calendar days of the player (as noons in UTC, because
it counts whole days between moments), without random fuzz, without learning steps within a day.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from enum import IntEnum

from companion.history.knowing.clean import Flaw
from companion.history.knowing.known import ColdTake

COLD_TAKES_COUNTED = 100
"""The algorithm is fed the last so many: more change only waits beyond ten months (measured)."""

PERFORMANCE_TEMPO_SHARE = 0.95
"""Share of the target from which a take was at the tempo of the performance, whatever share the
rules of the piece ask for (project convention)."""

LONGEST_WAIT_DAYS = 7
"""Longest wait while a performance is ahead (project convention)."""


class Rating(IntEnum):
    """How a cold take went, in the numbers of the algorithm."""

    AGAIN = 1
    HARD = 2
    GOOD = 3
    EASY = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """When a section should be played cold again.

    Parameters
    ----------
    day
        The day; it may have passed already.
    wait_days
        Days between the last cold take and ``day``.
    capped
        Whether the wait is shorter than the algorithm asked for, because a performance is ahead.
    """

    day: date
    wait_days: int
    capped: bool = False


def rate(take: ColdTake, *, performance_tempo: bool = False, from_memory: bool = False) -> Rating:
    """Return what a cold take counts for (project convention).

    Parameters
    ----------
    performance_tempo
        Whether it reached the tempo of the performance, not only the target of that time.
    from_memory
        Whether it was played without the score.
    """
    if take.clean:
        return Rating.EASY if performance_tempo and from_memory else Rating.GOOD
    return Rating.HARD if take.flaws == (Flaw.SLOW,) else Rating.AGAIN


def next_return(
    rated: Iterable[tuple[date, Rating]], performance: date | None = None
) -> Return | None:
    """Return when to come back after some rated cold takes, at most one a day.

    Parameters
    ----------
    rated
        Days and ratings, in rising order.
    performance
        Its day: until then no wait is longer than :data:`LONGEST_WAIT_DAYS`, and none goes past it.

    Returns
    -------
    Return or None
        None when the section was never played cold.
    """
    from fsrs import Card, Scheduler  # here: few starts need it
    from fsrs import Rating as AlgorithmRating

    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    card = Card(card_id=1)
    last: date | None = None
    for day, rating in tuple(rated)[-COLD_TAKES_COUNTED:]:
        moment = datetime.combine(day, time(12), tzinfo=UTC)
        card, _ = scheduler.review_card(card, AlgorithmRating(int(rating)), moment)
        last = day
    if last is None:
        return None
    wait_days = (card.due.date() - last).days
    if performance is None or performance < last:
        return Return(day=last + timedelta(days=wait_days), wait_days=wait_days)
    longest = max(min(LONGEST_WAIT_DAYS, (performance - last).days), 1)
    shown = min(wait_days, longest)
    return Return(day=last + timedelta(days=shown), wait_days=shown, capped=shown < wait_days)
