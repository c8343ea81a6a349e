"""Which takes are clean."""

import pytest

from companion.history.knowing.clean import Flaw, Thresholds, flaws
from tests.unit.history.knowing.knowing_examples import an_attempt


def test_a_whole_take_at_tempo_without_errors_is_clean():
    assert flaws(an_attempt(), 100.0) == ()


@pytest.mark.parametrize(
    ("changes", "flaw"),
    [
        ({"complete": False, "coverage": 0.9}, Flaw.INCOMPLETE),
        ({"began_again": True, "complete": False}, Flaw.BEGAN_AGAIN),
        ({"stops": 1}, Flaw.STOPPED),
        ({"missed": 3}, Flaw.ERRORS),
        ({"wrong": 1, "missed": 1, "added": 1}, Flaw.ERRORS),
        ({"edge_errors": 1}, Flaw.EDGE),
        ({"running_tempo_quarters_per_minute": 94.9}, Flaw.SLOW),
    ],
)
def test_one_flaw_is_named_as_such(changes, flaw):
    assert flaws(an_attempt(**changes), 100.0) == (flaw,)


def test_two_errors_in_100_notes_and_95_percent_of_the_tempo_are_still_clean():
    attempt = an_attempt(wrong=1, missed=1, running_tempo_quarters_per_minute=95.0)
    assert flaws(attempt, 100.0) == ()


def test_a_wrong_key_counts_once():
    # 95 right of 100 written notes, 5 other keys for them: 5 errors in 100, not 10
    assert an_attempt(wrong=5).errors_per_100 == 5.0


def test_tempo_is_not_judged_without_a_target_or_without_a_tempo():
    assert flaws(an_attempt(running_tempo_quarters_per_minute=30.0), None) == ()
    assert flaws(an_attempt(running_tempo_quarters_per_minute=None), 100.0) == ()


def test_a_take_in_which_nothing_was_expected_is_not_clean():
    assert flaws(an_attempt(expected=0), None) == (Flaw.ERRORS,)


def test_thresholds_belong_to_the_piece():
    lenient = Thresholds(errors_per_100=5.0, tempo_share=0.8, edge_errors=1)
    attempt = an_attempt(wrong=4, edge_errors=1, running_tempo_quarters_per_minute=81.0)
    assert flaws(attempt, 100.0, lenient) == ()
    assert len(flaws(attempt, 100.0)) == 3


@pytest.mark.parametrize(
    "impossible", [{"errors_per_100": -1.0}, {"days_to_know": 0}, {"lapse_misses": 4}]
)
def test_impossible_thresholds_are_refused(impossible):
    with pytest.raises(ValueError, match=r"errors are|tempo share|lapses by"):
        Thresholds(**impossible)
