"""Answers about key and chord over days; demo data."""

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.history.model import Entry
from companion.history.recited import Recited, RecitedDay, entry_of, recited_by_section, recited_of

EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
LIMITS = {"a": (Fraction(0), Fraction(16)), "b": (Fraction(16), Fraction(32))}


def recited(number=0, *, start=4, parts=(True, True, True, True), at=EVENING, **more):
    return Recited(
        entry_id=f"entry {number}",
        piece_id="piece",
        happened_at=at,
        zone="Europe/Vienna",
        start_quarters=Fraction(start),
        parts=parts,
        answer="C: V4/3",
        with_score=False,
        **more,
    )


PARTS = st.tuples(*[st.sampled_from((True, False, None))] * 4)


@given(PARTS, st.fractions(0, 400, max_denominator=8), st.booleans(), st.text(max_size=20))
def test_an_answer_survives_being_stored(parts, start, with_score, text):
    kept = Recited(
        entry_id="e",
        piece_id="p",
        happened_at=EVENING,
        zone="UTC",
        start_quarters=start,
        parts=parts,
        answer=text,
        with_score=with_score,
    )
    assert recited_of(entry_of(kept)) == kept


@pytest.mark.parametrize(
    "content", ["", "[]", "{}", '{"start": "1/0"}', '{"start": "1", "parts": 3}']
)
def test_an_entry_that_makes_no_sense_is_left_out(content):
    entry = Entry(
        entry_id="e",
        piece_id="p",
        kind="recited",
        happened_at=EVENING,
        zone="UTC",
        content=content,
    )
    assert recited_of(entry) is None


@pytest.mark.parametrize(
    ("parts", "right"),
    [
        ((True, True, True, True), True),
        ((None, True, True, None), True),
        ((True, None, None, None), False),
        ((True, True, False, True), False),
    ],
)
def test_an_answer_is_right_when_a_chord_was_named_and_nothing_is_wrong(parts, right):
    assert recited(parts=parts).all_right is right


def test_answers_fall_into_the_section_that_holds_their_place_and_into_their_day():
    next_day = EVENING + timedelta(days=1)
    found = recited_by_section(
        [
            recited(1),
            recited(2, parts=(True, False, True, None)),
            recited(3, at=next_day),
            recited(4, start=16),
        ],
        LIMITS,
    )
    assert found["a"].days == (
        RecitedDay(day=date(2026, 3, 2), asked=2, right=1),
        RecitedDay(day=date(2026, 3, 3), asked=1, right=1),
    )
    assert (found["a"].asked, found["a"].right) == (3, 2)
    assert found["a"].part_right == ((3, 3), (2, 3), (3, 3), (2, 2))
    assert (found["b"].asked, found["b"].right) == (1, 1)
