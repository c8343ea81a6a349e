"""What is known, in words."""

from datetime import timedelta
from fractions import Fraction

import pytest

from companion.history.knowing.clean import Flaw, Thresholds
from companion.history.knowing.known import ColdTake
from companion.history.knowing.order import Standing, hardest_known_longest
from companion.history.knowing.retention import retention
from companion.history.knowing.standing import SectionAsked, section_standing
from companion.history.knowing.words import (
    change_in_words,
    changes_in_words,
    flaws_in_words,
    order_in_words,
    retention_in_words,
    rules_in_words,
    state_in_words,
)
from companion.history.results import Stretch
from companion.score.model import Position
from tests.unit.history.knowing.knowing_examples import (
    FIRST_DAY,
    an_attempt,
    attempts_on_days,
    cold,
    day_number,
)


@pytest.mark.parametrize(
    ("flaw", "changes", "words"),
    [
        (Flaw.STOPPED, {"stops": 2}, "2 stops"),
        (Flaw.STOPPED, {"stops": 1}, "1 stop"),
        (Flaw.ERRORS, {"missed": 4}, "4 errors per 100 notes"),
        (Flaw.ERRORS, {"wrong": 5, "expected": 200}, "2.5 errors per 100 notes"),
        (Flaw.EDGE, {"edge_errors": 1}, "1 slip in melody or bass at its edges"),
        (Flaw.INCOMPLETE, {"coverage": 0.79}, "79 % of it played"),
        (Flaw.BEGAN_AGAIN, {}, "went back and began again"),
    ],
)
def test_a_flaw_is_told_with_its_figure(flaw, changes, words):
    take = ColdTake(day=FIRST_DAY, attempt=an_attempt(**changes), flaws=(flaw,))
    assert flaws_in_words(take, 100.0) == (words,)


def test_a_tempo_is_told_in_beats_and_never_rounded_up_to_the_target():
    attempt = an_attempt(running_tempo_quarters_per_minute=143.9)
    take = ColdTake(day=FIRST_DAY, attempt=attempt, flaws=(Flaw.SLOW,))
    assert flaws_in_words(take, 144.0, Fraction(3, 2)) == ("tempo 95 of 96",)


def test_a_clean_take_has_no_flaws_to_tell():
    assert flaws_in_words(cold("c")[0], 100.0) == ()


@pytest.mark.parametrize(
    ("letters", "words"),
    [
        ("", "no cold take yet"),
        ("x", "0 of 3 clean days"),
        ("cc", "2 of 3 clean days"),
        ("ccc", "known since day 2"),
        ("cccxx", "lapsed on day 4"),
        ("cccxxc", "lapsed on day 4; 1 of 3 clean days to know it again"),
    ],
)
def test_a_state_is_told_with_its_day(letters, words):
    asked = SectionAsked(section_id="a", name="A", stretch=Stretch(Position(0), Position(8)))
    found = section_standing(asked, attempts_on_days(letters), day_number(30))
    assert state_in_words(found, Thresholds(), lambda day: f"day {(day - FIRST_DAY).days}") == words


def test_retention_is_never_told_without_its_interval_and_count():
    told = retention_in_words(retention(cold("cccc"), FIRST_DAY + timedelta(days=4)))
    # Beta(a, 1) with a = 1 + 2^(-4/7) + 2^(-3/7) + 2^(-2/7) + 2^(-1/7) = 4.142: its mean is
    # a / (a + 1) = .8055 and its quantiles are q^(1/a), .4104 and .9939
    assert told == "81 % likely to come out clean today (between 41 % and 99 %, from 4 cold takes)"
    assert "nothing can be said" in retention_in_words(retention((), FIRST_DAY))


def test_the_rules_are_told_in_one_sentence():
    assert rules_in_words(Thresholds()) == (
        "clean is the whole section with no stop or restart, at most 2 errors per 100 notes, none "
        "on melody or bass at its edges, and at least 95 % of the target tempo of today; known "
        "after 3 clean cold takes on as many days; lapsed when 2 of the last 3 cold takes were "
        "not clean"
    )
    own = rules_in_words(Thresholds(stops=1, edge_errors=2, days_to_know=1, spread_days=5))
    assert "at most 1 stop, no restart" in own
    assert "at most 2 of them on melody" in own
    assert "one clean cold take, spread over 5 days" in own


def sections(*hardness_and_days):
    return [
        Standing(section_id=str(n), name=f"S{n}", workload=hardness, days_known=days)
        for n, (hardness, days) in enumerate(hardness_and_days)
    ]


def test_the_answer_names_correlation_and_chance_and_what_to_begin_with():
    answer = hardest_known_longest(sections((5, 0), (4, 2), (3, 9), (2, 12)))
    told = order_in_words(answer)
    assert told.startswith("No: the hardest sections are not those known longest.")
    assert "Rank correlation −1.00 over 4 sections" in told  # noqa: RUF001 - a minus sign
    assert change_in_words(answer).startswith("Begin with S0, then S1, then S2:")
    assert changes_in_words(answer)[:2] == (
        "S0 is harder than S3, known for 12 days, and is not known yet.",
        "S1 is harder than S3, known for 12 days, and is 10 days behind.",
    )


def test_where_nothing_can_be_told_it_is_said():
    assert "too few" in order_in_words(hardest_known_longest(sections((5, 0), (4, 2))))
    nothing = hardest_known_longest(sections((5, 0), (4, 0), (3, 0)))
    assert "No section is known yet" in order_in_words(nothing)
    assert change_in_words(nothing) == "Begin with the hardest: S0, then S1, then S2."
