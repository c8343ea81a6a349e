"""Spots that were marked while playing."""

from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest

from companion.history.spots import Spot, spots_from, spots_to_text, with_spot, without_spot
from companion.score.model import Position

NOW = datetime(2026, 3, 2, 17, tzinfo=UTC)
FIRST = Spot(position=Position(3, Fraction(1, 2)), marked_at=NOW)
SECOND = Spot(position=Position(9), marked_at=NOW + timedelta(minutes=1))


def test_spots_stand_in_order_of_place_and_each_measure_once():
    spots = with_spot(with_spot((), SECOND), FIRST)
    assert spots == (FIRST, SECOND)
    again = Spot(position=Position(3), marked_at=NOW + timedelta(minutes=5))
    assert with_spot(spots, again) == (again, SECOND)
    assert without_spot(spots, 3) == (SECOND,)


def test_spots_are_kept_as_text():
    assert spots_from(spots_to_text((FIRST, SECOND))) == (FIRST, SECOND)
    assert spots_to_text(()) == ""


@pytest.mark.parametrize("text", ["", "{", "[1]", '[{"measure": 1, "offset": "1/0", "at": "x"}]'])
def test_a_damaged_text_holds_no_spots(text):
    assert spots_from(text) == ()
