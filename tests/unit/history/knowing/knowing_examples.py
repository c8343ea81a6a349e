"""Cold takes that are written as letters: c clean, x not clean, one a day. Demo data."""

from datetime import UTC, date, datetime, timedelta

from companion.history.knowing.attempts import Attempt
from companion.history.knowing.clean import Flaw
from companion.history.knowing.known import ColdTake
from companion.listening.notes import Hands

FIRST_DAY = date(2026, 3, 2)


def an_attempt(**changes):
    values = {
        "take_id": "take",
        "started_at": datetime(2026, 3, 2, 18, 0, tzinfo=UTC),
        "zone": "Europe/Vienna",
        "hands": Hands.BOTH,
        "coverage": 1.0,
        "complete": True,
        "began_again": False,
        "expected": 100,
        "wrong": 0,
        "missed": 0,
        "added": 0,
        "edge_errors": 0,
        "stops": 0,
        "running_tempo_quarters_per_minute": 100.0,
    }
    return Attempt(**(values | changes))


def day_number(number):
    return FIRST_DAY + timedelta(days=number)


def cold(letters):
    """One cold take a day; a space is a day without one."""
    return tuple(
        ColdTake(
            day=day_number(number),
            attempt=an_attempt(take_id=f"take {number}"),
            flaws=() if letter == "c" else (Flaw.STOPPED,),
        )
        for number, letter in enumerate(letters)
        if letter != " "
    )


MONDAY_EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


def attempts_on_days(letters, **changes):
    """As :func:`cold`, with attempts that are not judged yet: x has a stop."""
    return tuple(
        an_attempt(
            take_id=f"take {number}",
            started_at=MONDAY_EVENING + timedelta(days=number),
            stops=int(letter == "x"),
            **changes,
        )
        for number, letter in enumerate(letters)
        if letter != " "
    )
