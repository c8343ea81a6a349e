"""The calendar file, read back by the library and held against RFC 5545. Demo data."""

from datetime import UTC, date, datetime, timedelta

import pytest
from icalendar import Calendar

from companion.errors import HistoryUnavailable
from companion.history.planning.day import plan_day
from companion.history.planning.schedule import schedule
from companion.history.planning.situation import Availability
from companion.practice.plan_calendar import plan_as_calendar, save_calendar
from tests.unit.history.planning.planning_examples import TODAY, a_section, a_situation, days

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
SITUATION = a_situation(
    a_section("Überleitung, lang; und schwer", 1),
    a_section("B", 2),
    performance=days(9),
    availability=Availability(minutes_by_weekday=(45, 45, 45, 45, 45, 45, 0)),
)
CONTENT = plan_as_calendar("A study", "p1", schedule(SITUATION), NOW, plan_day(SITUATION))


def events():
    return Calendar.from_ical(CONTENT).walk("VEVENT")


def test_every_day_of_practice_is_an_all_day_event_and_days_off_are_none():
    found = [event.decoded("dtstart") for event in events()]
    assert found == [days(n) for n in range(10) if days(n).weekday() != 6]
    assert all(isinstance(day, date) for day in found)
    assert all(e.decoded("dtend") - e.decoded("dtstart") == timedelta(days=1) for e in events())


def test_the_day_of_the_performance_is_named():
    assert str(events()[-1]["summary"]) == "A study: performance"


def test_names_with_commas_and_accents_come_back_whole():
    assert "Überleitung, lang; und schwer" in str(events()[0]["description"])


def test_the_plan_of_today_is_written_out_and_later_days_are_not():
    first, second = (str(event["description"]) for event in events()[:2])
    assert len(first.splitlines()) > 4
    assert "planned anew" in second


def test_a_later_export_brings_the_same_events_up_to_date():
    later = plan_as_calendar("A study", "p1", schedule(SITUATION), NOW + timedelta(hours=2))
    again = {str(event["uid"]) for event in Calendar.from_ical(later).walk("VEVENT")}
    assert again == {str(event["uid"]) for event in events()}
    assert len(again) == len(events())


def test_the_file_keeps_to_rfc_5545():
    """3.1: lines end in CRLF and are at most 75 octets; 3.6: what a calendar and an event need."""
    assert CONTENT.endswith(b"\r\n")
    lines = CONTENT.split(b"\r\n")
    assert all(len(line) <= 75 and b"\n" not in line for line in lines)
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert b"VERSION:2.0" in lines
    assert any(line.startswith(b"PRODID:") for line in lines)
    for event in events():
        assert {"UID", "DTSTAMP", "DTSTART"} <= set(event)
    assert b"DTSTART;VALUE=DATE:20260302" in lines
    assert b"DTSTAMP:20260302T093000Z" in lines


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="time zone"):
        plan_as_calendar("A study", "p1", schedule(SITUATION), datetime(2026, 3, 2, 9))  # noqa: DTZ001


def test_the_file_appears_whole_or_the_reason_is_told(tmp_path):
    save_calendar(tmp_path / "plan.ics", CONTENT)
    assert (tmp_path / "plan.ics").read_bytes() == CONTENT
    with pytest.raises(HistoryUnavailable, match=r"plan\.ics” cannot be written"):
        save_calendar(tmp_path / "nowhere" / "plan.ics", CONTENT)


def test_it_begins_today():
    assert events()[0].decoded("dtstart") == TODAY
