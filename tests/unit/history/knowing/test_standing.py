"""How a section stands on a day; the takes are demo data."""

import pickle
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.history.knowing.clean import Flaw, Thresholds
from companion.history.knowing.known import JudgedTakes, State
from companion.history.knowing.standing import FromMemory, SectionAsked, section_standing
from companion.history.results import Stretch
from companion.listening.notes import Hands
from companion.score.model import Position
from tests.unit.history.knowing.knowing_examples import (
    an_attempt,
    attempts_on_days,
    cold,
    day_number,
)

ASKED = SectionAsked(
    section_id="a",
    name="A",
    stretch=Stretch(Position(0), Position(8)),
    target_quarters_per_minute=100.0,
)


def standing(attempts, day=30, **more):
    return section_standing(ASKED, attempts, day_number(day), **more)


def test_three_clean_cold_takes_on_three_days_make_a_section_known_since_the_third():
    found = standing(attempts_on_days("c xc c"))
    assert (found.state, found.known_since) == (State.KNOWN, day_number(5))
    assert found.days_known(day_number(30)) == 25
    assert found.lapsed_on is None


def test_two_of_three_that_are_not_clean_make_it_lapse_on_that_day():
    found = standing(attempts_on_days("ccc x cx"))
    assert (found.state, found.lapsed_on) == (State.LAPSED, day_number(7))
    assert [(s.known_since, s.lapsed_on) for s in found.spells] == [(day_number(2), day_number(7))]


def test_the_past_is_asked_by_leaving_out_what_came_after():
    attempts = attempts_on_days("ccc x cx")
    assert standing(attempts, day=6).state is State.KNOWN
    assert standing(attempts, day=1).clean_days == 2
    assert standing(attempts, day=-1).state is State.NEW


def test_all_cold_takes_are_judged_by_the_target_of_today():
    attempts = attempts_on_days("ccc", running_tempo_quarters_per_minute=96.0)
    assert standing(attempts).state is State.KNOWN
    faster = SectionAsked(
        section_id="a",
        name="A",
        stretch=ASKED.stretch,
        target_quarters_per_minute=120.0,
    )
    found = section_standing(faster, attempts, day_number(30))
    assert found.state is State.LEARNING
    assert {take.flaws for take in found.cold_takes} == {(Flaw.SLOW,)}
    assert found.tempo_share == pytest.approx(0.8)


def test_rules_of_the_piece_hold_for_the_past_as_well():
    attempts = attempts_on_days("xxx")
    assert standing(attempts).state is State.LEARNING
    assert standing(attempts, rules=Thresholds(stops=1)).state is State.KNOWN


def test_clean_takes_may_have_to_be_spread_over_more_days():
    week = Thresholds(spread_days=7)
    assert standing(attempts_on_days("cccc"), rules=week).state is State.LEARNING
    found = standing(attempts_on_days("ccc   c"), rules=week)
    assert (found.state, found.known_since) == (State.KNOWN, day_number(6))


def test_the_next_return_comes_before_the_performance():
    attempts = attempts_on_days("ccccccc")
    free = standing(attempts, day=6).next_return
    bound = standing(attempts, day=6, performance=day_number(10)).next_return
    assert free.day > day_number(13)
    assert bound.day <= day_number(10)
    assert bound.capped


def test_days_and_days_hands_separately_are_told_whether_cold_or_not():
    apart = an_attempt(
        take_id="apart",
        started_at=datetime(2026, 3, 5, 12, 0, tzinfo=UTC),
        hands=Hands.LEFT,
    )
    found = standing([*attempts_on_days("c"), apart])
    assert found.played_days == (day_number(0), day_number(3))
    assert found.played_apart_days == (day_number(3),)
    assert len(found.cold_takes) == 1


@given(st.text("cx ", max_size=25), st.randoms())
def test_the_order_in_which_takes_were_imported_never_matters(letters, order):
    attempts = list(attempts_on_days(letters))
    shuffled = list(attempts)
    order.shuffle(shuffled)
    assert standing(shuffled) == standing(attempts)


@given(st.text("cx", max_size=20))
def test_one_more_clean_day_never_lowers_retention_nor_undoes_what_is_known(letters):
    today = len(letters)
    before = standing(attempts_on_days(letters), day=today)
    after = standing(attempts_on_days(letters + "c"), day=today)
    assert after.retention.probability >= before.retention.probability
    assert after.retention.low >= before.retention.low - 1e-12
    if before.state is State.KNOWN:
        assert after.known_since == before.known_since


def in_memory(letters, **changes):
    """As :func:`attempts_on_days`; capital letters were played from memory."""
    attempts = attempts_on_days(letters.lower(), **changes)
    played = [letter for letter in letters if letter != " "]
    return [
        replace(attempt, from_memory=letter.isupper())
        for attempt, letter in zip(attempts, played, strict=True)
    ]


def test_what_was_tried_from_memory_is_told_as_counts_and_a_day():
    found = standing(in_memory("cCxX c")).from_memory
    assert (found.tried, found.clean, found.last_day) == (2, 1, day_number(3))
    assert standing(in_memory("ccx")).from_memory == FromMemory()


def test_first_try_from_memory_of_a_day_counts_also_after_a_take_with_the_score():
    first = an_attempt(take_id="first")
    later = [
        replace(
            an_attempt(take_id=f"later {minutes}", wrong=wrong),
            started_at=first.started_at + timedelta(minutes=minutes),
            from_memory=True,
        )
        for minutes, wrong in ((5, 40), (9, 0))
    ]
    found = standing([first, *later])
    assert (found.from_memory.tried, found.from_memory.clean) == (1, 0)
    assert found.cold_takes[0].attempt == first


def test_only_clean_takes_from_memory_at_performance_tempo_let_a_section_wait_longer():
    plain = standing(in_memory("ccc")).next_return.day
    assert standing(in_memory("CCC")).next_return.day > plain
    assert standing(in_memory("xxX")).next_return == standing(in_memory("xxx")).next_return
    slow = {"rules": Thresholds(tempo_share=0.8)}
    under = {"running_tempo_quarters_per_minute": 85.0}
    assert (
        standing(in_memory("CCC", **under), **slow).next_return
        == standing(in_memory("ccc", **under), **slow).next_return
    )


@given(st.text("cCxX ", max_size=25))
def test_memory_changes_nothing_of_what_is_known(letters):
    found, plain = standing(in_memory(letters)), standing(in_memory(letters.lower()))
    assert found.spells == plain.spells
    assert found.retention == plain.retention
    assert found.from_memory.clean <= found.from_memory.tried
    assert found.from_memory.tried == sum(letter.isupper() for letter in letters)


# Days: where one was, and how the clock of the wall ran there


def days_of(*moments_and_zones):
    attempts = [
        an_attempt(take_id=f"take {number}", started_at=moment, zone=zone)
        for number, (moment, zone) in enumerate(moments_and_zones)
    ]
    found = section_standing(ASKED, attempts, date(2027, 1, 1))
    return [take.day for take in found.cold_takes]


def utc(*parts):
    return datetime(*parts, tzinfo=UTC)


def test_a_minute_before_four_is_still_yesterday():
    winter = "Europe/Vienna"  # an hour ahead of UTC
    assert days_of((utc(2026, 3, 3, 2, 59), winter), (utc(2026, 3, 3, 3, 0), winter)) == [
        date(2026, 3, 2),
        date(2026, 3, 3),
    ]


def test_a_take_past_midnight_and_one_on_the_evening_before_are_one_day():
    zone = "Europe/Vienna"
    assert days_of((utc(2026, 3, 2, 20, 0), zone), (utc(2026, 3, 3, 1, 0), zone)) == [
        date(2026, 3, 2)
    ]


@pytest.mark.parametrize(
    ("before", "after"),
    [
        # clocks go forward at 01:00 UTC on 29 March 2026: four o'clock is 02:00 UTC from then on
        (utc(2026, 3, 29, 1, 59), utc(2026, 3, 29, 2, 0)),
        # and back at 01:00 UTC on 25 October 2026: four o'clock is 03:00 UTC again
        (utc(2026, 10, 25, 2, 59), utc(2026, 10, 25, 3, 0)),
    ],
    ids=["clocks go forward", "clocks go back"],
)
def test_the_day_begins_at_four_on_the_wall_also_when_clocks_change(before, after):
    zone = "Europe/Vienna"
    assert days_of((before, zone), (after, zone)) == [
        after.date() - timedelta(days=1),
        after.date(),
    ]


def test_a_journey_does_not_make_two_days_of_one_nor_lose_one():
    # an evening in Vienna, and seven hours later the same evening in New York
    assert days_of(
        (utc(2026, 3, 2, 17, 0), "Europe/Vienna"), (utc(2026, 3, 3, 0, 0), "America/New_York")
    ) == [date(2026, 3, 2)]
    # flying east across the date line: the earlier take belongs to the later calendar day
    assert days_of(
        (utc(2026, 3, 2, 20, 0), "Pacific/Auckland"), (utc(2026, 3, 3, 6, 0), "Pacific/Honolulu")
    ) == [date(2026, 3, 2), date(2026, 3, 3)]


@settings(max_examples=50)
@given(st.lists(st.integers(0, 200_000), max_size=10), st.randoms())
def test_merged_and_imported_takes_fall_into_their_own_days(minutes, order):
    attempts = [
        an_attempt(
            take_id=f"take {number}",
            started_at=utc(2026, 3, 1) + timedelta(minutes=minute),
            zone=("Europe/Vienna", "Asia/Tokyo")[number % 2],
        )
        for number, minute in enumerate(minutes)
    ]
    here, there = attempts[::2], attempts[1::2]
    mixed = [*there, *here, *there]  # the same take twice is the same take
    order.shuffle(mixed)
    one = section_standing(ASKED, attempts, date(2027, 1, 1))
    other = section_standing(ASKED, mixed, date(2027, 1, 1))
    assert one == other


def test_cold_takes_that_are_made_late_look_like_any_others():
    takes = cold("cx c")
    late = JudgedTakes(
        tuple(take.day for take in takes), tuple(take.clean for take in takes), takes.__getitem__
    )
    assert late == takes
    assert late[-1] == takes[-1]
    assert late[-2:] == takes[-2:]
    assert pickle.loads(pickle.dumps(late)) == takes
    with pytest.raises(IndexError):
        late[3]
