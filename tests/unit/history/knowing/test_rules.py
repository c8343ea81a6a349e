"""The rules of a piece as a document."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.history.knowing.clean import Thresholds
from companion.history.knowing.rules import rules_from_text, rules_to_text


@st.composite
def some_rules(draw):
    misses = draw(st.integers(1, 5))
    return Thresholds(
        errors_per_100=draw(st.floats(0, 100)),
        tempo_share=draw(st.floats(0, 2)),
        edge_errors=draw(st.integers(0, 9)),
        days_to_know=draw(st.integers(1, 9)),
        lapse_of=draw(st.integers(misses, 9)),
        lapse_misses=misses,
        stops=draw(st.integers(0, 9)),
        spread_days=draw(st.integers(1, 99)),
    )


@given(some_rules())
def test_rules_come_back_as_they_were_written(rules):
    assert rules_from_text(rules_to_text(rules)) == (rules, "")


def test_the_usual_rules_need_no_document():
    assert rules_to_text(Thresholds()) == ""
    assert rules_from_text("") == (Thresholds(), "")


def test_rules_that_a_newer_version_may_add_are_left_out():
    assert rules_from_text('{"stops": 2, "mood": "calm"}') == (Thresholds(stops=2), "")


@pytest.mark.parametrize(
    "text",
    [
        "{",
        "[]]",
        "7",
        '["stops"]',
        '"stops"',
        '{"stops": "two"}',
        '{"stops": true}',
        '{"stops": 1.5}',
        '{"stops": -1}',
        '{"tempo_share": NaN}',
        '{"lapse_misses": 4}',
    ],
)
def test_a_damaged_document_counts_as_none_and_says_so(text):
    rules, sentence = rules_from_text(text)
    assert rules == Thresholds()
    assert "cannot be read" in sentence
