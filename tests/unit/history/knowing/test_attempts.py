"""Which takes are cold."""

from datetime import UTC, date, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from companion.history.knowing.attempts import cold_takes
from companion.listening.notes import Hands
from tests.unit.history.knowing.knowing_examples import an_attempt

EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def ids(attempts, **options):
    return [attempt.take_id for attempt in cold_takes(attempts, **options)]


def test_the_first_take_of_each_day_is_cold():
    attempts = [
        an_attempt(take_id="first"),
        an_attempt(take_id="second", started_at=EVENING + HOUR),
        an_attempt(take_id="next day", started_at=EVENING + 24 * HOUR),
    ]
    assert ids(attempts) == ["first", "next day"]


def test_after_a_look_at_a_fragment_nothing_is_cold_on_that_day():
    attempts = [
        an_attempt(take_id="four measures", coverage=0.2, complete=False),
        an_attempt(take_id="whole", started_at=EVENING + HOUR),
    ]
    assert ids(attempts) == []


def test_after_one_hand_alone_nothing_is_cold_on_that_day():
    attempts = [
        an_attempt(take_id="left", hands=Hands.LEFT),
        an_attempt(take_id="both", started_at=EVENING + HOUR),
    ]
    assert ids(attempts) == []


def test_running_over_from_the_section_before_does_not_count_as_having_played_it():
    attempts = [
        an_attempt(take_id="over the border", coverage=0.05, complete=False),
        an_attempt(take_id="whole", started_at=EVENING + HOUR),
    ]
    assert ids(attempts) == ["whole"]


def test_breaking_off_at_once_and_beginning_again_is_a_cold_take():
    assert ids([an_attempt(coverage=0.05, complete=False, began_again=True)]) == ["take"]


def test_breaking_off_after_more_than_half_is_a_cold_take():
    assert ids([an_attempt(coverage=0.6, complete=False)]) == ["take"]


def test_a_day_begins_at_four_in_the_morning_where_it_was_played():
    # Vienna is one hour ahead of UTC in March: 02:30 UTC is 03:30 there, still the day before
    night = datetime(2026, 3, 3, 2, 30, tzinfo=UTC)
    attempts = [an_attempt(take_id="evening"), an_attempt(take_id="night", started_at=night)]
    assert ids(attempts) == ["evening"]
    assert ids(attempts, day_starts_at_hour=3) == ["evening", "night"]
    assert an_attempt(started_at=night).day() == date(2026, 3, 2)


def test_a_take_imported_from_another_zone_falls_into_its_own_day():
    # 15:30 UTC is half past midnight of the next day in Tokyo, before four: still 2 March there
    tokyo = an_attempt(
        take_id="tokyo", zone="Asia/Tokyo", started_at=datetime(2026, 3, 2, 15, 30, tzinfo=UTC)
    )
    assert tokyo.day() == date(2026, 3, 2)
    assert ids([an_attempt(take_id="vienna"), tokyo]) == ["tokyo"]  # the earlier one of that day


@given(st.permutations(range(8)))
def test_the_order_of_import_makes_no_difference(order):
    attempts = [
        an_attempt(
            take_id=f"take {number}",
            started_at=EVENING + number * 7 * HOUR,
            coverage=(1.0, 0.05, 0.3)[number % 3],
            complete=number % 3 == 0,
        )
        for number in range(8)
    ]
    assert cold_takes([attempts[number] for number in order]) == cold_takes(attempts)
