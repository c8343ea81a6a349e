"""Playing time, breaks, rises, discomfort. Takes are demo data."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.history.care import (
    HEARING_CAUTION,
    OVERUSE_CAUTION,
    PlayedSpan,
    discomfort_entry,
    discomfort_note,
    discomfort_on,
    hours_at_level,
    minutes_by_day,
    since_break,
    spans_of,
    weekly_time,
    without_overlap,
)
from companion.history.model import RawEvent, Take, TakeSource

BEGIN = datetime(2026, 3, 2, 17, 0, tzinfo=UTC)
TODAY = date(2026, 3, 30)


def span(minute, minutes):
    return PlayedSpan(BEGIN + timedelta(minutes=minute), "Europe/Vienna", 60.0 * minutes)


def a_take(*strokes, duration=60.0):
    return Take(
        take_id="t",
        piece_id=None,
        started_at=BEGIN,
        zone="Europe/Vienna",
        source=TakeSource.DEMO,
        duration_seconds=duration,
        note_count=len(strokes),
        events=tuple(RawEvent(at, bytes((0x90, 60, 64))) for at in strokes),
    )


def test_a_take_without_its_events_counts_as_a_whole():
    assert [each.seconds for each in spans_of(a_take())] == [60.0]


def test_long_silences_inside_a_take_are_not_playing():
    found = spans_of(a_take(0.0, 5.0, 12.0, 300.0, 301.0, duration=302.0))
    assert [each.seconds for each in found] == [12.0, 1.0]
    assert found[1].started_at == BEGIN + timedelta(seconds=300)


def test_the_same_playing_recorded_twice_counts_once():
    twice = [span(0, 10), span(0, 10), span(5, 10)]
    assert minutes_by_day(twice) == {date(2026, 3, 2): pytest.approx(15.0)}


def test_playing_after_midnight_belongs_to_the_day_before():
    late = PlayedSpan(datetime(2026, 3, 3, 0, 30, tzinfo=UTC), "Europe/Vienna", 600.0)
    assert list(minutes_by_day([late])) == [date(2026, 3, 2)]


def test_a_break_is_due_after_twenty_five_minutes_of_playing():
    short_pauses = [span(0, 12), span(14, 12)]
    now = BEGIN + timedelta(minutes=26)
    assert since_break(short_pauses, now).playing_minutes == pytest.approx(24)
    assert since_break(short_pauses, now).prompt is None
    more = [*short_pauses, span(27, 1)]
    found = since_break(more, BEGIN + timedelta(minutes=28))
    assert found.prompt is not None
    assert found.began_at == BEGIN


def test_a_pause_of_five_minutes_starts_the_count_anew():
    played = [span(0, 24), span(29, 2)]
    assert since_break(played, BEGIN + timedelta(minutes=31)).playing_minutes == pytest.approx(2)


def test_a_pause_that_lasts_until_now_is_a_break():
    played = [span(0, 40)]
    assert since_break(played, BEGIN + timedelta(minutes=41)).prompt is not None
    assert since_break(played, BEGIN + timedelta(minutes=45)).prompt is None


def test_the_limits_of_a_break_can_be_set():
    played = [span(0, 16)]
    assert since_break(played, BEGIN + timedelta(minutes=16), after_minutes=15).prompt is not None


def weeks(*minutes):
    """Minutes in each week counted back from today, played on its last day."""
    return {TODAY - timedelta(days=7 * n): played for n, played in enumerate(minutes)}


@pytest.mark.parametrize(
    ("minutes", "warned"),
    [
        ((241, 200, 200, 200, 200), True),
        ((240, 200, 200, 200, 200), False),
        ((300, 200), False),
        ((300, 200, 0, 0, 200), True),
        ((50, 20, 20, 20, 20), False),
        ((100, 200, 200, 200, 200), False),
    ],
    ids=["more than a fifth", "a fifth", "one week", "weeks off", "hardly anything", "less"],
)
def test_a_sudden_rise_over_the_mean_of_four_weeks_is_worth_a_word(minutes, warned):
    assert (weekly_time(weeks(*minutes), TODAY).warning is not None) == warned


def test_a_note_of_discomfort_stops_the_plan_of_its_day_only():
    entry = discomfort_entry(BEGIN, "Europe/Vienna", "left  wrist\n")
    assert discomfort_note(entry) == "left wrist"
    assert discomfort_on([entry], date(2026, 3, 2))
    assert not discomfort_on([entry], date(2026, 3, 3))


def test_discomfort_that_was_noted_by_mistake_is_taken_back_until_it_is_noted_again():
    day = date(2026, 3, 2)
    noted = discomfort_entry(BEGIN, "Europe/Vienna")
    taken_back = discomfort_entry(BEGIN + timedelta(minutes=1), "Europe/Vienna", taken_back=True)
    again = discomfort_entry(BEGIN + timedelta(minutes=2), "Europe/Vienna")
    assert not discomfort_on([taken_back, noted], day)
    assert discomfort_on([again, taken_back, noted], day)


def test_cautions_send_to_those_who_can_judge():
    assert "doctor" in OVERUSE_CAUTION
    assert "teacher" in OVERUSE_CAUTION
    assert "doctor" in HEARING_CAUTION


@pytest.mark.parametrize(("level", "hours"), [(85, 8), (88, 4), (91, 2), (94, 1), (100, 0.25)])
def test_the_time_at_a_level_is_that_of_niosh(level, hours):
    assert hours_at_level(level) == pytest.approx(hours)


@given(
    st.lists(st.tuples(st.integers(0, 500), st.integers(0, 60)), max_size=12),
    st.randoms(use_true_random=False),
)
def test_playing_time_does_not_depend_on_order_and_never_exceeds_what_was_played(parts, random):
    spans = [span(minute, minutes) for minute, minutes in parts]
    shuffled = spans.copy()
    random.shuffle(shuffled)
    found = without_overlap(spans)
    assert without_overlap(shuffled) == found
    covered = {m for minute, minutes in parts for m in range(minute, minute + minutes)}
    assert sum(each.seconds for each in found) == pytest.approx(60.0 * len(covered))
