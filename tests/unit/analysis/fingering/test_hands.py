"""Hands of the pianist's own: spans that are checked, stored and asked."""

from __future__ import annotations

import pytest

from companion.analysis.fingering.hands import PianistHands, hands_from_texts, hands_to_texts
from companion.analysis.fingering.rules import Model
from companion.analysis.fingering.spans import (
    MEDIUM_SPANS,
    PAIRS,
    HandSize,
    HandSpans,
    own_spans,
    spans_from_text,
    spans_to_text,
    stretch_range,
    widest_stretches,
)
from companion.errors import EditRefused
from companion.score.model import Hand

TABLE = (10, 12, 14, 15, 5, 7, 10, 4, 7, 5)
"""MaxPrac of Parncutt et al. 1997, in the order of the pairs."""


def changed(pair, stretch):
    values = list(TABLE)
    values[PAIRS.index(pair)] = stretch
    return tuple(values)


def test_the_widest_stretches_of_a_medium_hand_are_those_of_the_paper():
    assert widest_stretches(HandSpans()) == TABLE
    assert own_spans(TABLE) == HandSpans()


def test_an_own_stretch_moves_the_other_upper_limits_along():
    span = own_spans(changed((1, 5), 17)).span(1, 5)
    usual = MEDIUM_SPANS[1, 5]
    assert span.max_practical == 17
    assert span.max_comfortable == usual.max_comfortable + 2
    assert span.min_practical == usual.min_practical


@pytest.mark.parametrize(
    ("widest", "sentence"),
    [
        (changed((1, 4), 16), "Fingers 1 and 4 cannot reach further than 1 and 5"),
        (changed((2, 3), 8), "Fingers 2 and 3 cannot reach further than 2 and 4"),
        (changed((1, 5), 40), "Fingers 1 and 5 stretch 10 to 20 semitones"),
        (TABLE[:9], "ten pairs"),
    ],
    ids=["inside 1-5", "inside 2-4", "no hand", "nine pairs"],
)
def test_stretches_that_no_hand_has_are_refused_in_a_sentence(widest, sentence):
    with pytest.raises(EditRefused, match=sentence):
        own_spans(widest)


@pytest.mark.parametrize(
    "spans",
    [*map(HandSpans.of, HandSize), own_spans(changed((1, 5), 16))],
    ids=[*HandSize, "own"],
)
def test_spans_survive_being_written(spans):
    assert spans_from_text(spans_to_text(spans)) == spans


def test_every_stretch_in_its_range_can_be_set_with_the_table_around_it():
    for pair in PAIRS:
        least, most = stretch_range(pair)
        assert least <= MEDIUM_SPANS[pair].max_practical <= most
        assert least >= 1


def test_hands_are_read_from_settings_each_for_itself():
    hands = PianistHands(right=HandSpans.of(HandSize.LARGE), model=Model.JACOBS)
    assert hands_from_texts(*hands_to_texts(hands)) == hands
    assert hands.asked(Hand.RIGHT).spans != hands.asked(Hand.LEFT).spans


@pytest.mark.parametrize("broken", ["huge", "10 12", "a b c", ""])
def test_broken_settings_fall_back_to_medium_hands(broken, caplog):
    assert hands_from_texts(broken, "medium", "taught") == PianistHands()
    assert "cannot be read" in caplog.text
