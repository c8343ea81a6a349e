"""Estimates and their intervals.

The figures for k of n are the published formulas of Wilson (1927) and of Jeffreys' interval (Brown,
Cai & DasGupta 2001), evaluated outside of the program; scipy is the oracle for random counts.
"""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta, binomtest

from companion.history.knowing.clean import Flaw
from companion.history.knowing.known import ColdTake
from companion.history.knowing.retention import jeffreys_interval, retention, wilson_interval
from tests.unit.history.knowing.knowing_examples import FIRST_DAY, an_attempt, cold, day_number


@pytest.mark.parametrize(
    ("clean", "count", "wilson", "jeffreys"),
    [
        (0, 1, (0.0, 0.793451), (0.0, 0.853254)),
        (3, 3, (0.438503, 1.0), (0.464417, 1.0)),
        (3, 5, (0.230724, 0.882379), (0.209417, 0.905610)),
        (7, 10, (0.396778, 0.892209), (0.394182, 0.907305)),
        (9, 10, (0.595850, 0.982124), (0.618685, 0.988988)),
        (10, 10, (0.722467, 1.0), (0.782804, 1.0)),
        (20, 20, (0.838875, 1.0), (0.883361, 1.0)),
    ],
)
def test_intervals_of_a_share(clean, count, wilson, jeffreys):
    assert wilson_interval(clean, count) == pytest.approx(wilson, abs=1e-6)
    assert jeffreys_interval(clean, count) == pytest.approx(jeffreys, abs=1e-6)


def test_sixteen_clean_ones_of_sixteen_are_needed_for_a_lower_bound_of_four_fifths():
    assert wilson_interval(15, 15)[0] < 0.8 <= wilson_interval(16, 16)[0]


@given(st.integers(0, 60), st.integers(0, 60))
def test_intervals_agree_with_scipy(clean, missed):
    count = clean + missed
    if not count:
        assert wilson_interval(0, 0) == jeffreys_interval(0, 0) == (0.0, 1.0)
        return
    reference = binomtest(clean, count).proportion_ci(method="wilson")
    assert wilson_interval(clean, count) == pytest.approx((reference.low, reference.high), abs=1e-9)
    low, high = beta(clean + 0.5, missed + 0.5).interval(0.95)
    expected = (0.0 if not clean else low, 1.0 if not missed else high)
    assert jeffreys_interval(clean, count) == pytest.approx(expected, abs=1e-9)


def test_impossible_counts_are_refused():
    with pytest.raises(ValueError, match="between none and all"):
        wilson_interval(3, 2)


def dated(*ages_and_letters):
    today = FIRST_DAY + timedelta(days=30)
    takes = [
        ColdTake(
            day=today - timedelta(days=age),
            attempt=an_attempt(),
            flaws=() if letter == "c" else (Flaw.ERRORS,),
        )
        for age, letter in ages_and_letters
    ]
    return takes, today


def test_old_takes_weigh_less():
    # a worked example: weights 2^(-age / 7 days) upon Beta(1, 1), a = 3.520219, b = 1.25
    takes, today = dated((14, "x"), (10, "c"), (7, "c"), (3, "c"), (1, "c"))
    found = retention(takes, today)
    assert found.probability == pytest.approx(0.737958, abs=1e-6)
    assert (found.low, found.high) == pytest.approx((0.314465, 0.983832), abs=1e-6)
    assert found.count == 5


def test_without_a_cold_take_nothing_is_known():
    found = retention((), FIRST_DAY)
    assert (found.probability, found.count) == (0.5, 0)
    assert (found.low, found.high) == pytest.approx((0.025, 0.975), abs=1e-9)


@given(st.text("cx ", max_size=20))
def test_a_clean_cold_take_never_lowers_the_estimate_and_a_bad_one_never_raises_it(letters):
    today = day_number(len(letters))
    before = retention(cold(letters), today).probability
    assert retention(cold(letters + "c"), today).probability >= before
    assert retention(cold(letters + "x"), today).probability <= before


@given(st.text("cx", min_size=1, max_size=20), st.integers(0, 25))
def test_the_past_is_answered_from_what_was_played_until_then(letters, day):
    asked = day_number(day)
    assert retention(cold(letters), asked) == retention(cold(letters[: day + 1]), asked)


@given(st.text("cx ", min_size=1, max_size=20), st.data())
def test_a_clean_take_on_any_free_day_never_lowers_the_estimate(letters, data):
    free = [number for number, letter in enumerate(letters) if letter == " "]
    if not free:
        return
    at = data.draw(st.sampled_from(free))
    more = letters[:at] + "c" + letters[at + 1 :]
    today = day_number(len(letters))
    before, after = retention(cold(letters), today), retention(cold(more), today)
    assert after.probability >= before.probability
    assert after.low >= before.low - 1e-12
    assert after.count == before.count + 1
