"""The probability of a run without a stop and what it rests on."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_normal, norm

from companion.history.readiness.estimate import (
    RunThroughs,
    needed_each,
    product_of,
    readiness,
)
from companion.history.readiness.evidence import weighed
from companion.history.readiness.no_stop import run_probability
from companion.history.readiness.slips import SINCE_THE_TAKES
from companion.history.readiness.words import (
    help_in_words,
    no_stop_in_words,
    run_throughs_in_words,
    slips_in_words,
    weakest_in_words,
)
from tests.unit.history.readiness.readiness_examples import TODAY, evidence


def test_the_arithmetic_of_runs():
    """Worked examples: eight at .95 and .98; what each of 8 and of 12 needs for .9."""
    assert product_of([0.95] * 8) == pytest.approx(0.663420, abs=1e-6)
    assert product_of([0.98] * 8) == pytest.approx(0.850763, abs=1e-6)
    assert needed_each(8) == pytest.approx(0.98692, abs=1e-5)
    assert needed_each(12) == pytest.approx(0.99126, abs=1e-5)
    assert run_probability(np.full(8, 0.95), 0.0) == pytest.approx(0.663420, abs=1e-6)


def test_good_and_bad_days_are_the_copula_of_scipy():
    """Orthant probability of an equicorrelated normal, by scipy's own integration."""
    p = np.array([0.7, 0.8, 0.9])
    for correlation in (0.1, 0.3, 0.5):
        covariance = np.full((3, 3), correlation) + (1 - correlation) * np.eye(3)
        expected = multivariate_normal(mean=np.zeros(3), cov=covariance).cdf(norm.ppf(p))
        assert run_probability(p, correlation) == pytest.approx(expected, abs=1e-4)


def test_a_common_factor_leaves_each_section_as_it_is():
    assert run_probability(np.array([0.8]), 0.4) == pytest.approx(0.8, abs=1e-4)


def test_older_takes_count_less_and_slow_ones_do_not_count():
    takes = weighed(evidence("A", "c    c"), TODAY, half_weight_days=5.0)
    assert [take.weight for take in takes] == [pytest.approx(2 ** (-6 / 5)), pytest.approx(2**-0.2)]
    assert weighed(evidence("A", "ccc", tempo=60.0), TODAY) == ()
    slow_stops = weighed(evidence("A", "xx", tempo=60.0), TODAY)
    assert len(slow_stops) == 2


def test_takes_after_the_day_that_is_asked_about_are_left_out():
    found = readiness([evidence("A", "ccc")], TODAY - timedelta(days=2))
    assert found.no_stop.count == 2


def test_sections_without_takes_lean_on_the_others_and_are_less_sure():
    found = readiness([evidence("A", "cccccc"), evidence("B", "")], TODAY)
    sure, unknown = found.sections
    assert unknown.no_stop.count == 0
    assert unknown.no_stop.probability < sure.no_stop.probability
    assert unknown.no_stop.high - unknown.no_stop.low > sure.no_stop.high - sure.no_stop.low
    alone = readiness([evidence("B", "")], TODAY).no_stop
    assert alone.probability == pytest.approx(0.5, abs=0.04)
    assert unknown.no_stop.probability > alone.probability


def test_the_section_that_stops_most_is_the_weakest_and_would_help_most():
    found = readiness(
        [evidence("A", "cccccc"), evidence("B", "xcxxcx"), evidence("C", "cccccc")], TODAY
    )
    assert found.weakest.name == "B"
    assert found.would_help_most[0].name == "B"
    assert found.sections[1].run_if_sure > found.no_stop.probability + 0.1
    assert "B" in weakest_in_words(found)
    assert help_in_words(found)[0].startswith("If B held")


def test_more_sections_make_a_run_less_likely():
    few = readiness([evidence(name, "cccxcc") for name in "ABCD"], TODAY)
    many = readiness([evidence(name, "cccxcc") for name in "ABCDEFGH"], TODAY)
    assert many.no_stop.probability < few.no_stop.probability


def test_days_on_which_everything_goes_wrong_together_are_seen():
    together = readiness([evidence(name, "ccxccxcc") for name in "ABCDEF"], TODAY)
    apart = readiness(
        [
            evidence(name, letters)
            for name, letters in zip(
                "ABCDEF",
                ("xcccccxc", "cxcccxcc", "ccxcxccc", "cccxcccx", "xccxcccc", "cxccccxc"),
                strict=True,
            )
        ],
        TODAY,
    )
    assert together.correlation > 2 * apart.correlation


def test_expected_slips_follow_the_errors_of_cold_takes():
    found = readiness(
        [evidence("A", "cccccccc", errors=2), evidence("B", "cccccccc", errors=6)], TODAY
    )
    assert found.slips.mean == pytest.approx(8.0 * SINCE_THE_TAKES, rel=0.12)
    assert found.slips.low < found.slips.mean < found.slips.high
    assert found.sections[0].slips.mean < found.sections[1].slips.mean
    assert "slips in a run" in slips_in_words(found)


def test_the_same_takes_give_the_same_answer():
    sections = [evidence("A", "cxcc"), evidence("B", "cc")]
    assert readiness(sections, TODAY) == readiness(sections, TODAY)


def test_words_name_the_ground_of_every_figure():
    found = readiness([evidence("A", "cccc"), evidence("B", "cccc")], TODAY)
    assert "from 8 first takes" in no_stop_in_words(found)
    assert run_throughs_in_words(found) == "There was no run through the whole piece yet."
    ran = replace(found, run_throughs=RunThroughs(count=5, without_stop=3))
    assert run_throughs_in_words(ran).startswith("3 of 5 cold runs")
    nothing = readiness([evidence("A", "")], TODAY)
    assert "nothing can be told" in no_stop_in_words(nothing)
    assert "never played cold" in weakest_in_words(nothing)


def test_a_piece_without_sections_has_no_figures():
    found = readiness([], TODAY)
    assert found.no_stop.count == 0
    assert found.weakest is None


@settings(max_examples=25)
@given(st.lists(st.text("cx ", max_size=8), min_size=1, max_size=6), st.data())
def test_one_more_take_without_a_stop_never_lowers_the_probability_of_its_section(letters, data):
    which = data.draw(st.integers(0, len(letters) - 1))
    names = "ABCDEF"

    def probability(change):
        sections = [
            evidence(names[n], change if n == which else text) for n, text in enumerate(letters)
        ]
        return readiness(sections, TODAY).sections[which].no_stop.probability

    # the estimate is a mean of draws: its noise is a few thousandths
    assert probability(f"{letters[which]}c") >= probability(f"{letters[which]} ") - 0.02
