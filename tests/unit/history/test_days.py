from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo, available_timezones

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.history.days import bounds_of_day, days_between, practice_day

BERLIN = "Europe/Berlin"

zones = st.sampled_from(
    ["Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu", "Pacific/Apia"]
)
moments = st.datetimes(datetime(2000, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001
hours = st.integers(0, 12)


def local(year, month, day, hour, minute=0, zone=BERLIN):
    return datetime(year, month, day, hour, minute, tzinfo=ZoneInfo(zone))


@pytest.mark.parametrize(
    ("moment", "day"),
    [
        pytest.param(local(2026, 3, 2, 17), date(2026, 3, 2), id="afternoon"),
        pytest.param(local(2026, 3, 3, 0, 30), date(2026, 3, 2), id="after midnight"),
        pytest.param(local(2026, 3, 3, 3, 59), date(2026, 3, 2), id="just before four"),
        pytest.param(local(2026, 3, 3, 4), date(2026, 3, 3), id="four o'clock"),
    ],
)
def test_the_small_hours_belong_to_the_evening_before(moment, day):
    assert practice_day(moment, BERLIN) == day
    assert practice_day(moment.astimezone(UTC), BERLIN) == day


def test_the_day_is_that_of_the_place_where_it_was_played():
    moment = datetime(2026, 3, 2, 20, tzinfo=UTC)
    assert practice_day(moment, "America/New_York") == date(2026, 3, 2)
    assert practice_day(moment, "Asia/Tokyo") == date(2026, 3, 3)  # five in the morning


# In the European Union clocks change at 01:00 UTC on the last Sunday of March and of October
# (Directive 2000/84/EC): in 2026 on 29 March and 25 October.


def test_on_the_night_when_clocks_go_forward_the_day_begins_at_four_by_the_clock():
    assert practice_day(datetime(2026, 3, 29, 1, 59, tzinfo=UTC), BERLIN) == date(2026, 3, 28)
    assert practice_day(datetime(2026, 3, 29, 2, 0, tzinfo=UTC), BERLIN) == date(2026, 3, 29)


def test_on_the_night_when_clocks_go_back_the_day_begins_at_four_by_the_clock():
    assert practice_day(datetime(2026, 10, 25, 2, 59, tzinfo=UTC), BERLIN) == date(2026, 10, 24)
    assert practice_day(datetime(2026, 10, 25, 3, 0, tzinfo=UTC), BERLIN) == date(2026, 10, 25)


@pytest.mark.parametrize(
    ("day", "hours_long"),
    [(date(2026, 3, 28), 23), (date(2026, 10, 24), 25), (date(2026, 6, 1), 24)],
    ids=["forward", "back", "summer"],
)
def test_a_practice_day_with_a_change_of_clocks_is_an_hour_shorter_or_longer(day, hours_long):
    start, end = bounds_of_day(day, BERLIN)
    assert end - start == timedelta(hours=hours_long)


@given(moments, zones, hours)
def test_every_moment_lies_inside_the_bounds_of_its_day(moment, zone, hour):
    start, end = bounds_of_day(practice_day(moment, zone, hour), zone, hour)
    # Where clocks go back over the border itself, an hour comes twice and counts by the clock.
    assert start - timedelta(hours=1) <= moment < end + timedelta(hours=1)


@given(moments, zones)
def test_days_at_four_hold_exactly_the_moments_between_their_bounds(moment, zone):
    # No zone in the list changes its clocks at four in these years.
    start, end = bounds_of_day(practice_day(moment, zone), zone)
    assert start <= moment < end


@given(moments, st.timedeltas(timedelta(0), timedelta(days=400)), zones)
def test_later_moments_have_the_same_day_or_a_later_one(moment, later, zone):
    assert practice_day(moment + later, zone) >= practice_day(moment, zone)


def test_an_unknown_zone_counts_as_utc_so_that_no_take_is_lost():
    assert "Mars/Olympus" not in available_timezones()
    assert practice_day(datetime(2026, 3, 2, 3, tzinfo=UTC), "Mars/Olympus") == date(2026, 3, 1)
    assert practice_day(datetime(2026, 3, 2, 3, tzinfo=UTC), "../etc") == date(2026, 3, 1)


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="needs a time zone"):
        practice_day(datetime(2026, 3, 2, 3), BERLIN)  # noqa: DTZ001


def test_days_between_holds_both_ends():
    assert list(days_between(date(2026, 2, 27), date(2026, 3, 1))) == [
        date(2026, 2, 27),
        date(2026, 2, 28),
        date(2026, 3, 1),
    ]
    assert list(days_between(date(2026, 3, 2), date(2026, 3, 1))) == []
