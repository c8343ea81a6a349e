"""When to come back; the sequence of waits is that of the ``fsrs`` package with its own weights."""

from datetime import UTC, datetime, timedelta

import pytest
from fsrs import Card, Scheduler
from fsrs import Rating as AlgorithmRating
from hypothesis import given
from hypothesis import strategies as st

from companion.history.knowing.clean import Flaw
from companion.history.knowing.known import ColdTake
from companion.history.knowing.returns import LONGEST_WAIT_DAYS, Rating, next_return, rate
from tests.unit.history.knowing.knowing_examples import FIRST_DAY, an_attempt, day_number


def waits(ratings, performance=None):
    """The waits when every return is kept to the day."""
    day, rated, found = FIRST_DAY, [], []
    for rating in ratings:
        rated.append((day, rating))
        back = next_return(rated, performance)
        found.append(back.wait_days)
        day = back.day
    return found


def test_waits_grow_with_good_takes_and_shrink_after_a_bad_one():
    # Good, Good, Good, Again, Good with the default weights of FSRS 6: 2, 11, 46, 3, 8 days
    good, again = Rating.GOOD, Rating.AGAIN
    assert waits([good, good, good, again, good]) == [2, 11, 46, 3, 8]


def test_no_wait_is_longer_than_a_week_while_a_performance_is_ahead():
    performance = day_number(60)
    assert waits([Rating.GOOD] * 4, performance) == [2, 7, 7, 7]
    assert next_return([(FIRST_DAY, Rating.EASY)], performance).capped


def test_no_return_is_planned_behind_the_performance():
    back = next_return([(FIRST_DAY, Rating.EASY)], day_number(3))
    assert back.day == day_number(3)
    assert next_return([(day_number(5), Rating.EASY)], day_number(3)).wait_days > 7


def test_what_was_never_played_cold_has_no_return():
    assert next_return([]) is None


@pytest.mark.parametrize(
    ("flaws", "options", "rating"),
    [
        ((), {}, Rating.GOOD),
        ((), {"performance_tempo": True}, Rating.GOOD),
        ((), {"performance_tempo": True, "from_memory": True}, Rating.EASY),
        ((Flaw.SLOW,), {}, Rating.HARD),
        ((Flaw.SLOW, Flaw.STOPPED), {}, Rating.AGAIN),
        ((Flaw.EDGE,), {"from_memory": True}, Rating.AGAIN),
    ],
)
def test_a_cold_take_is_rated_by_its_flaws(flaws, options, rating):
    take = ColdTake(day=FIRST_DAY, attempt=an_attempt(), flaws=flaws)
    assert rate(take, **options) is rating


RATED = st.lists(
    st.tuples(st.integers(1, 40), st.sampled_from(list(Rating))), min_size=1, max_size=12
)


@given(RATED)
def test_waits_agree_with_the_algorithm_fed_directly(steps):
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    card, day, rated = Card(card_id=1), FIRST_DAY, []
    for gap, rating in steps:
        day += timedelta(days=gap)
        moment = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
        card, _ = scheduler.review_card(card, AlgorithmRating(int(rating)), moment)
        rated.append((day, rating))
    assert next_return(rated).day == card.due.date()


@given(RATED, st.integers(0, 600))
def test_before_a_performance_the_return_comes_within_a_week_and_not_behind_it(steps, ahead):
    day, rated = FIRST_DAY, []
    for gap, rating in steps:
        day += timedelta(days=gap)
        rated.append((day, rating))
    back = next_return(rated, day + timedelta(days=ahead))
    assert 1 <= back.wait_days <= LONGEST_WAIT_DAYS
    assert back.day <= day + timedelta(days=max(ahead, 1))
