"""A window that stays open over night, on a clock that is changed, in a laptop that travels."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest

from companion.desktop.wiring import calendar as calendar_module
from companion.desktop.wiring.calendar import Calendar
from companion.desktop.wiring.day_watch import DayWatch
from companion.history.days import practice_day
from companion.storage.backups import backups_of

LONG_MS = 120_000  # for worker processes on a busy machine; never waited for where all is well


class Clock(datetime):
    """The clock of the wall, to be set."""

    moment = datetime(2026, 3, 28, 22, 0, tzinfo=UTC)

    @classmethod
    def now(cls, tz=None):
        return cls.moment.astimezone(tz)


@pytest.fixture
def clock(monkeypatch):
    monkeypatch.setattr(Clock, "moment", datetime(2026, 3, 28, 22, 0, tzinfo=UTC))
    monkeypatch.setattr(calendar_module, "datetime", Clock)
    monkeypatch.setenv("TZ", "Europe/Berlin")
    calendar_module.zone_of_this_machine.cache_clear()
    yield Clock
    monkeypatch.undo()
    calendar_module.zone_of_this_machine.cache_clear()


@pytest.fixture
def seen(clock, qapp):
    watch, seen = DayWatch(Calendar(day_starts_at_hour=4)), []
    watch.changed.connect(lambda calendar: seen.append((calendar.zone, calendar.today)))

    def look(moment):
        clock.moment = moment
        watch.look()
        return seen

    return look


def test_the_day_changes_at_four_on_the_clock_of_the_wall_also_when_clocks_are_put_forward(seen):
    # in Berlin the clock goes from 2 to 3 on 29 March 2026 (European Union, directive 2000/84/EC)
    assert seen(datetime(2026, 3, 29, 1, 59, tzinfo=UTC)) == []  # 3:59 summer time
    assert seen(datetime(2026, 3, 29, 2, 0, tzinfo=UTC)) == [("Europe/Berlin", date(2026, 3, 29))]
    assert len(seen(datetime(2026, 3, 29, 9, 0, tzinfo=UTC))) == 1


def test_midnight_is_still_the_evening_before(seen):
    assert seen(datetime(2026, 3, 28, 23, 30, tzinfo=UTC)) == []  # half past midnight


def test_a_clock_that_is_set_back_goes_back_to_the_day_before(seen):
    assert seen(datetime(2026, 3, 27, 12, 0, tzinfo=UTC)) == [("Europe/Berlin", date(2026, 3, 27))]


def test_a_laptop_that_travels_counts_by_the_clock_of_the_place(seen, monkeypatch):
    monkeypatch.setenv("TZ", "Asia/Tokyo")
    told = seen(datetime(2026, 3, 28, 22, 0, tzinfo=UTC))  # 7 in the morning there
    assert told == [("Asia/Tokyo", date(2026, 3, 29))]


def test_the_window_begins_another_day_by_itself(clock, companion, places, qtbot, monkeypatch):
    # noon of the day that it is for who plays now: before four it is the one before
    playing_now = practice_day(datetime.now(UTC), "Europe/Berlin", day_starts_at_hour=4)
    clock.moment = datetime.combine(playing_now, time(12), UTC)
    companion.day_watch.look()
    keys = companion.window.keyboard
    for note in companion.stand.score.notes[:9]:
        keys.played.emit(bytes((0x90, note.pitch, 70)))
        keys.played.emit(bytes((0x80, note.pitch, 64)))
    companion.piano.end_take()
    listed = companion.window.listener._model
    qtbot.waitUntil(lambda: listed.rowCount() == 1, timeout=LONG_MS)
    companion.stand.set_performance_date(
        companion.stand.piece, companion._calendar.today + timedelta(days=9)
    )
    assert "9 days" in companion.window.header._days.text()
    clock.moment += timedelta(days=1)
    monkeypatch.setenv("TZ", "America/New_York")
    companion.day_watch.look()
    qtbot.waitUntil(lambda: listed.rowCount() == 0, timeout=LONG_MS)  # none today
    assert "8 days" in companion.window.header._days.text()
    qtbot.waitUntil(lambda: len(backups_of(places.history)) >= 1, timeout=LONG_MS)
    keys.played.emit(bytes((0x90, 60, 70)))
    assert companion.piano.sitting._playing.take.zone == "America/New_York"
