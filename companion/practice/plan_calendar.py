"""The days of practice as an iCalendar file (RFC 5545), for the calendar of a telephone or a desk.

Days are all-day events without alarms: when on a day somebody practises is theirs to choose. The
plan of today is written out turn by turn; later days say what they are for, because they are
planned anew from what will have been heard by then. The ids of events depend on piece and day
alone, so that a later export brings events up to date instead of doubling them.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from companion.errors import HistoryUnavailable
from companion.history.planning.model import DayKind, DayPlan
from companion.history.planning.schedule import ProjectedDay, Schedule
from companion.whole_file import whole_file

if TYPE_CHECKING:
    from icalendar import Event

PRODUCT = "-//Companion at the piano//practice plan//EN"


def plan_as_calendar(
    title: str,
    piece_id: str,
    schedule: Schedule,
    made_at: datetime,
    today: DayPlan | None = None,
) -> bytes:
    """Return the days of a schedule as the bytes of an iCalendar file.

    Parameters
    ----------
    title
        Of the piece.
    made_at
        Timezone-aware; the time stamp of every event.
    today
        The plan of the first day, to be written out; None to leave it as the others.

    Raises
    ------
    ValueError
        When ``made_at`` has no time zone.
    """
    from icalendar import Calendar  # here: few starts need it

    if made_at.tzinfo is None:
        raise ValueError("a moment needs a time zone")
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    for day in schedule.days:
        if day.minutes or day.kind is DayKind.PERFORMANCE:
            mine = today if today is not None and today.day == day.day else None
            calendar.add_component(_event(title, piece_id, day, made_at, mine))
    return bytes(calendar.to_ical())


def save_calendar(path: Path, content: bytes) -> None:
    """Write a calendar file.

    Raises
    ------
    HistoryUnavailable
        The file cannot be written.
    """
    try:
        with whole_file(path) as unfinished:
            unfinished.write_bytes(content)
    except OSError as error:
        reason = error.strerror or error
        raise HistoryUnavailable(f"“{path.name}” cannot be written: {reason}.") from error


def _event(
    title: str, piece_id: str, day: ProjectedDay, made_at: datetime, today: DayPlan | None
) -> Event:
    from icalendar import Event

    event = Event()
    event.add("uid", f"{piece_id}-{day.day:%Y%m%d}@companion-at-the-piano")
    event.add("dtstamp", made_at.astimezone(UTC))
    event.add("dtstart", day.day)
    event.add("dtend", day.day + timedelta(days=1))
    event.add("summary", _summary(title, day))
    event.add("description", _description(day, today))
    event.add("transp", "TRANSPARENT")  # the day stays free for appointments
    return event


def _summary(title: str, day: ProjectedDay) -> str:
    if day.kind is DayKind.PERFORMANCE:
        return f"{title}: performance"
    return f"{title}: {day.main}, {day.minutes} minutes"


def _description(day: ProjectedDay, today: DayPlan | None) -> str:
    if today is None:
        return f"For {day.kind}. The day is planned anew when it comes."
    lines = [today.headline]
    lines += [
        f"{turn.minutes} min  {turn.place.name}: {turn.activity}. {turn.why}"
        for turn in today.turns
    ]
    return "\n".join(lines)
