"""A gross miscalibration of the readiness fails here; the careful look is in the benchmark.

Learners with fixed seeds that the estimate was not fitted on (``companion/demo/learner``).
"""

import pytest

from companion.demo.learner.forecasts import brier, brier_of_base_rate, calibration_error, forecasts


@pytest.fixture(scope="module")
def told():
    return [each for seed in range(1, 10) for each in forecasts(seed)]


def test_what_is_told_is_near_what_is_inside_the_learners(told):
    """Told too high or too low by a fifth on the whole would be gross."""
    bias = sum(each.probability - each.true_probability for each in told) / len(told)
    assert abs(bias) < 0.12
    assert calibration_error(told, bins=4) < 0.15


def test_the_interval_mostly_holds_the_probability_inside(told):
    inside = sum(each.low <= each.true_probability <= each.high for each in told)
    assert inside >= 0.8 * len(told)


def test_it_tells_more_than_the_base_rate(told):
    """Against the probabilities inside, so that no luck of the draws is in it."""
    mean = sum(each.true_probability for each in told) / len(told)
    of_base = sum((mean - each.true_probability) ** 2 for each in told)
    of_ours = sum((each.probability - each.true_probability) ** 2 for each in told)
    assert of_ours < of_base
    assert brier(told) < brier_of_base_rate(told) + 0.05


def test_expected_slips_are_near_those_inside(told):
    ratio = sum(each.slips for each in told) / sum(each.true_slips for each in told)
    assert 0.75 < ratio < 1.35
