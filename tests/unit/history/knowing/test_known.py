"""Known, known since, lapsed; the sequences are demo data, the definitions the project's own."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.history.knowing.clean import Thresholds
from companion.history.knowing.known import Spell, State, knowledge
from tests.unit.history.knowing.knowing_examples import cold, day_number


@pytest.mark.parametrize(
    ("letters", "state", "since"),
    [
        ("", State.NEW, None),
        ("c", State.LEARNING, None),
        ("cc", State.LEARNING, None),
        ("ccc", State.KNOWN, 2),
        ("ccc   ", State.KNOWN, 2),
        ("c c   c", State.KNOWN, 6),
        ("cxcc", State.KNOWN, 3),
        ("xxccc", State.KNOWN, 4),
        ("xcxc", State.LEARNING, None),
        ("cccx", State.KNOWN, 2),
        ("cccxc", State.KNOWN, 2),
        ("cccxx", State.LAPSED, None),
        ("cccxcx", State.LAPSED, None),
        ("cccxxcc", State.LAPSED, None),
        ("cccxxccc", State.KNOWN, 7),
        ("cccxccx", State.KNOWN, 2),
    ],
)
def test_the_state_follows_from_the_cold_takes(letters, state, since):
    found = knowledge(cold(letters))
    assert found.state is state
    assert found.known_since == (None if since is None else day_number(since))


def test_what_was_reached_before_two_bad_days_out_of_three_does_not_count_any_more():
    assert knowledge(cold("ccxx")).clean_days == 0
    assert knowledge(cold("ccxxcc")).state is State.LEARNING


def test_lapses_stay_visible():
    found = knowledge(cold("cccxxccc"))
    assert found.spells == (Spell(day_number(2), day_number(4)), Spell(day_number(7)))
    assert [found.known_on(day_number(day)) for day in range(9)] == [
        False, False, True, True, False, False, False, True, True,
    ]  # fmt: skip


def test_days_known_are_counted_from_the_day_that_made_it_known():
    found = knowledge(cold("ccc"))
    assert found.days_known(day_number(2)) == 0
    assert found.days_known(day_number(12)) == 10
    assert knowledge(cold("cc")).days_known(day_number(12)) == 0


def test_other_thresholds_give_other_answers_about_the_same_days():
    assert knowledge(cold("cc"), Thresholds(days_to_know=2)).state is State.KNOWN
    assert knowledge(cold("cccxx"), Thresholds(lapse_of=5, lapse_misses=3)).state is State.KNOWN


def test_two_cold_takes_on_one_day_are_refused():
    with pytest.raises(ValueError, match="one a day"):
        knowledge(cold("c") + cold("c"))


@given(st.text("cx", max_size=30))
def test_the_state_is_as_the_definition_says_it_read_backwards(letters):
    """The same definition written as a search from the last day backwards."""
    lapsed_at = [
        number
        for number, letter in enumerate(letters)
        if letter == "x" and letters[max(number - 2, 0) : number + 1].count("x") >= 2
    ]
    since_lapse = letters[lapsed_at[-1] + 1 :] if lapsed_at else letters
    clean = [number for number, letter in enumerate(since_lapse) if letter == "c"]
    offset = len(letters) - len(since_lapse)
    expected = None
    for number in clean[2:]:  # the first day from the third clean one that is not in a lapse
        if letters[max(offset + number - 2, 0) : offset + number + 1].count("x") < 2:
            expected = day_number(offset + number)
            break
    assert knowledge(cold(letters)).known_since == expected


@given(st.text("cx", max_size=20))
def test_one_more_clean_cold_take_never_makes_a_known_section_unknown(letters):
    if knowledge(cold(letters)).state is State.KNOWN:
        assert knowledge(cold(letters + "c")).state is State.KNOWN
