"""Attempts in the history file: what comes out is what the definition says of what went in."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.history.edits import DeleteTakes, MarkMemory
from companion.history.knowing.clean import Thresholds
from companion.history.knowing.played import played_stretch
from companion.listening.notes import Hands
from companion.storage.history_file import HistoryFile
from tests.unit.storage.history_examples import (
    a_piece,
    a_stretch,
    a_take,
    an_attempt,
    some_results,
)

RULES = Thresholds()
FIRST, SECOND = a_stretch(0, 4), a_stretch(4, 8)


def save(history, *attempts_of_takes):
    """Save takes with attempts at FIRST (and SECOND, when a pair is given)."""
    for attempts in attempts_of_takes:
        of_stretch = dict(zip((FIRST, SECOND), attempts, strict=False))
        (take_id, started_at, zone) = (
            attempts[0].take_id,
            attempts[0].started_at,
            attempts[0].zone,
        )
        history.save_take(
            a_take(
                take_id,
                started_at=started_at,
                zone=zone,
                from_memory=attempts[0].from_memory,
            )
        )
        history.save_results([replace(some_results(take_id), attempts=of_stretch)])


def cold_of(history, stretch=FIRST, target=None, hour=4):
    found = history.played_stretches("piece", "basis", (FIRST, SECOND), hour)
    return tuple(found[stretch].judged(target, RULES, hour)) if stretch in found else ()


def test_an_attempt_comes_back_as_it_was_saved(history):
    attempt = an_attempt(coverage=0.75, complete=False, running_tempo_quarters_per_minute=None)
    save(history, [attempt])
    assert [cold.attempt for cold in cold_of(history)] == [attempt]
    assert cold_of(history, SECOND) == ()


def test_new_stretches_stand_beside_the_old_ones_and_replace_their_own(history):
    save(history, [an_attempt(), an_attempt(stops=0)])
    better = replace(
        some_results(stretches=(FIRST,)),
        match=None,
        measures=(),
        attempts={FIRST: an_attempt(stops=7)},
    )
    history.save_results([better])
    assert [cold.attempt.stops for cold in cold_of(history, FIRST)] == [7]
    assert [cold.attempt.stops for cold in cold_of(history, SECOND)] == [0]


def test_attempts_on_another_basis_or_of_a_deleted_take_do_not_count(history):
    save(history, [an_attempt()])
    assert history.played_stretches("piece", "other", (FIRST,), 4) == {}
    history.apply(DeleteTakes(("take",)))
    assert history.played_stretches("piece", "basis", (FIRST,), 4) == {}


def test_attempts_at_borders_of_long_ago_are_forgotten(history):
    save(history, [an_attempt(), an_attempt()])
    history.save_results(
        [
            replace(
                some_results(stretches=(FIRST, SECOND)),
                attempts={FIRST: an_attempt(), SECOND: an_attempt()},
            )
        ]
    )
    history.keep_only_stretches("piece", [SECOND])
    assert cold_of(history, FIRST) == ()
    assert len(cold_of(history, SECOND)) == 1


def test_whether_a_take_was_from_memory_may_be_said_later_and_nothing_is_worked_out_anew(history):
    save(history, [an_attempt()])
    before = history.missing_stretches("piece", "basis", (FIRST,))
    history.apply(MarkMemory(("take",), from_memory=True))
    assert [cold.attempt.from_memory for cold in cold_of(history)] == [True]
    assert history.missing_stretches("piece", "basis", (FIRST,)) == before
    touched = history.touched_sections("piece", "basis", (FIRST,), 4)
    assert touched.from_memory.tolist() == [True]
    history.apply(MarkMemory(("take",), from_memory=False))
    assert [cold.attempt.from_memory for cold in cold_of(history)] == [False]


MOMENTS = st.one_of(
    # around the nights on which clocks change in Europe and America, and anywhere in two years
    st.integers(0, 3 * 86_400).map(
        lambda s: datetime(2026, 3, 28, tzinfo=UTC) + timedelta(seconds=s)
    ),
    st.integers(0, 3 * 86_400).map(
        lambda s: datetime(2026, 10, 24, tzinfo=UTC) + timedelta(seconds=s)
    ),
    st.integers(0, 730 * 86_400).map(
        lambda s: datetime(2025, 1, 1, tzinfo=UTC) + timedelta(seconds=s)
    ),
)
ZONES = st.sampled_from(
    [
        "Europe/Vienna",
        "America/New_York",
        "Asia/Kathmandu",
        "Australia/Lord_Howe",
        "UTC",
        "No/Where",
    ]
)


@st.composite
def some_attempts(draw):
    count = draw(st.integers(1, 12))
    return [
        an_attempt(
            f"take {number}",
            started_at=draw(MOMENTS),
            zone=draw(ZONES),
            hands=draw(st.sampled_from([Hands.BOTH, Hands.BOTH, Hands.LEFT])),
            coverage=draw(st.sampled_from([0.05, 0.1, 0.49, 0.5, 1.0])),
            complete=draw(st.booleans()),
            began_again=draw(st.booleans()),
            expected=draw(st.integers(0, 100)),
            wrong=draw(st.integers(0, 3)),
            stops=draw(st.integers(0, 1)),
            edge_errors=draw(st.integers(0, 1)),
            running_tempo_quarters_per_minute=draw(st.sampled_from([None, 94.9, 95.0, 100.0])),
            from_memory=draw(st.booleans()),
        )
        for number in range(count)
    ]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(attempts=some_attempts(), hour=st.integers(0, 12), order=st.randoms())
def test_the_columns_say_what_the_definition_says_in_whatever_order_takes_came(
    tmp_path_factory, attempts, hour, order
):
    shuffled = list(attempts)
    order.shuffle(shuffled)
    with HistoryFile(tmp_path_factory.mktemp("history") / "history.sqlite3") as history:
        history.save_piece(a_piece())
        save(history, *([each] for each in shuffled))
        found = history.played_stretches("piece", "basis", (FIRST,), hour).get(FIRST)
    expected = played_stretch(attempts, hour)
    if found is None:
        assert expected.days == ()
        return
    assert (found.days, found.apart_days) == (expected.days, expected.apart_days)
    judged, plainly = found.judged(100.0, RULES, hour), expected.judged(100.0, RULES, hour)
    assert tuple(judged) == plainly
    assert judged.clean == tuple(take.clean for take in plainly)
    by_heart, plain_by_heart = found.from_memory, expected.from_memory
    assert (by_heart is None) == (plain_by_heart is None)
    if by_heart is not None:
        assert tuple(by_heart.judged(100.0, RULES, hour)) == plain_by_heart.judged(
            100.0, RULES, hour
        )
