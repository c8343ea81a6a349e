"""Situations to plan from. Demo data."""

from datetime import date, timedelta

from companion.history.knowing.known import State
from companion.history.planning.situation import Availability, PlannedSection, Situation

TODAY = date(2026, 3, 2)  # a Monday


def days(number):
    return TODAY + timedelta(days=number)


def a_section(name, rank, **changes):
    values = {
        "section_id": name.lower(),
        "name": name,
        "rank": rank,
        "hours": 1.5,
        "playing_seconds": 25.0,
        "target_beats_per_minute": 96.0,
    }
    return PlannedSection(**(values | changes))


def begun(name, rank, **changes):
    """Played yesterday hands separately, not tried cold yet."""
    return a_section(name, rank, **({"last_played": days(-1), "practised_minutes": 15.0} | changes))


def under_tempo(name, rank, **changes):
    values = {
        "state": State.LEARNING,
        "recent_clean": (False,),
        "errors_per_100": 3.0,
        "tempo_share": 0.7,
        "complete": True,
        "due": days(0),
        "last_played": days(-1),
    }
    return a_section(name, rank, **(values | changes))


def settling(name, rank, **changes):
    return under_tempo(
        name,
        rank,
        **(
            {"tempo_share": 1.0, "errors_per_100": 1.0, "recent_clean": (True,), "clean_days": 1}
            | changes
        ),
    )


def known(name, rank, **changes):
    values = {
        "state": State.KNOWN,
        "recent_clean": (True, True, True),
        "clean_days": 3,
        "known_since": days(-9),
        "due": days(3),
    }
    return settling(name, rank, **(values | changes))


def a_situation(*sections, minutes=45, **changes):
    values = {
        "today": TODAY,
        "sections": sections,
        "availability": Availability(minutes_by_weekday=(minutes,) * 7),
    }
    return Situation(**(values | changes))
