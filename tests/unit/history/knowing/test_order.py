"""Are the hardest sections those known longest? Standings are demo data, scipy is the oracle."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import kendalltau

from companion.history.knowing.order import (
    Answer,
    Standing,
    hardest_known_longest,
    kendall_tau_b,
)


def standings(*workload_and_days):
    return [
        Standing(section_id=f"s{n}", name=chr(65 + n), workload=workload, days_known=days)
        for n, (workload, days) in enumerate(workload_and_days)
    ]


def test_yes_when_every_harder_section_has_been_known_for_longer():
    found = hardest_known_longest(standings((5, 40), (4, 30), (3, 20), (2, 10), (1, 0)))
    assert found.answer is Answer.YES
    assert found.tau == pytest.approx(1.0)
    assert found.by_chance == pytest.approx(1 / 120)
    assert found.change == ()


def test_no_when_it_is_the_other_way_round_and_what_to_change_is_named():
    found = hardest_known_longest(standings((1, 40), (2, 30), (3, 20), (5, 0)))
    assert found.answer is Answer.NO
    assert found.tau == pytest.approx(-1.0)
    hard, easy = found.change[0]
    assert (hard.name, easy.name) == ("D", "A")


def test_three_sections_in_the_right_order_may_well_be_chance():
    found = hardest_known_longest(standings((3, 9), (2, 5), (1, 1)))
    assert found.answer is Answer.RATHER
    assert found.by_chance == pytest.approx(1 / 6)


@pytest.mark.parametrize(
    ("rows", "answer"),
    [
        ([(1, 4), (2, 3)], Answer.TOO_FEW),
        ([(1, 0), (2, 0), (3, 0)], Answer.NOTHING_KNOWN),
        ([(2, 1), (2, 5), (2, 9)], Answer.ALIKE),
    ],
)
def test_what_cannot_be_told_is_not_told(rows, answer):
    found = hardest_known_longest(standings(*rows))
    assert found.answer is answer
    assert found.tau is None


def test_the_answer_is_the_same_each_time_it_is_asked():
    rows = standings(*((n * 7 % 11, n * 5 % 13) for n in range(12)))
    assert hardest_known_longest(rows) == hardest_known_longest(rows)


SMALL = st.integers(0, 4)


@given(st.lists(st.tuples(SMALL, SMALL), min_size=2, max_size=10))
def test_tau_agrees_with_scipy(pairs):
    first, second = [pair[0] for pair in pairs], [pair[1] for pair in pairs]
    found = kendall_tau_b(first, second)
    if len(set(first)) == 1 or len(set(second)) == 1:
        assert found is None
    else:
        assert found == pytest.approx(kendalltau(first, second).statistic, abs=1e-12)


@given(st.lists(st.tuples(SMALL, SMALL), min_size=3, max_size=7))
def test_the_share_by_chance_is_that_of_scipys_exact_test_where_nothing_is_alike(pairs):
    first = list(range(len(pairs)))
    second = sorted(range(len(pairs)), key=lambda n: (pairs[n], n))
    found = hardest_known_longest(standings(*zip(first, second, strict=True)))
    exact = kendalltau(first, second, method="exact", alternative="greater").pvalue
    assert found.by_chance == pytest.approx(exact, abs=1e-9)
