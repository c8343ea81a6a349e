"""The readiness check as a state machine, and its record; demo data."""

import json
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from companion.history.readiness.check import (
    Check,
    CheckPart,
    CheckTake,
    answer,
    checked_sections,
    hear,
    passed_of,
    skip,
    starts_inside,
)
from companion.history.readiness.check_record import (
    READINESS_CHECK,
    compare,
    entry_of,
    record_of,
    record_of_check,
)
from companion.history.readiness.check_steps import (
    CheckKind,
    CheckSection,
    StartPlace,
    draw_steps,
)
from companion.history.readiness.estimate import readiness
from tests.unit.history.readiness.readiness_examples import TODAY, evidence

SECTIONS = tuple(
    CheckSection(section_id=name.lower(), name=name, rank=rank)
    for rank, name in enumerate("CABD", 1)
)
PLACES = tuple(
    StartPlace(
        measure_index=8 * number + shift,
        section_id=section.section_id,
        name=f"measure {8 * number + shift + 1}",
        opens_section=shift == 0,
    )
    for number, section in enumerate(SECTIONS)
    for shift in (0, 3, 6)
)
NOW = datetime(2026, 3, 20, 17, 0, tzinfo=UTC)


def a_check(seed=1, **options):
    return Check(seed=seed, sections=SECTIONS, steps=draw_steps(SECTIONS, PLACES, seed, **options))


def part(name, **changes):
    values = {
        "section_id": name,
        "complete": True,
        "stops": 0,
        "errors": 1,
        "notes": 100,
        "tempo_share": 1.0,
    }
    return CheckPart(**(values | changes))


def a_take(*parts, begins=0, **changes):
    return CheckTake(take_id="t", at=NOW, first_measure_index=begins, parts=tuple(parts), **changes)


def whole(**changes):
    return a_take(*(part(section.section_id) for section in SECTIONS), **changes)


def play_through(check):
    """Every step passed."""
    while (step := check.next_step) is not None:
        if step.kind is CheckKind.RECITE:
            check = answer(check, "entry", right=True)
        elif step.kind is CheckKind.RUN_THROUGH:
            check = hear(check, whole())
        else:
            take = a_take(part(step.section_ids[0]), begins=step.measure_index, opening_errors=0)
            check = hear(check, take)
    return check


def test_the_run_through_comes_first_and_half_of_the_starts_are_inside_sections():
    steps = a_check().steps
    assert steps[0].kind is CheckKind.RUN_THROUGH
    starts = [step for step in steps if step.kind is CheckKind.START]
    assert [step.opens_section for step in starts].count(True) == 3
    assert len({step.measure_index for step in starts}) == 6


def test_the_same_seed_draws_the_same_steps_and_another_one_others():
    assert a_check(4).steps == a_check(4).steps
    assert a_check(4).steps != a_check(5).steps


def test_the_hardest_sections_are_asked_in_tempo():
    steps = [step for step in a_check().steps if step.kind is CheckKind.TEMPO]
    assert [step.section_ids for step in steps] == [("c",), ("a",)]


def test_memory_and_harmony_are_left_out_where_they_are_not_wanted():
    kinds = {step.kind for step in a_check(from_memory=False, with_harmony=False).steps}
    assert kinds == {CheckKind.RUN_THROUGH, CheckKind.START, CheckKind.TEMPO}


def test_a_short_piece_has_as_many_starts_as_places():
    steps = draw_steps(SECTIONS[:1], PLACES[:2], 1)
    assert sum(step.kind is CheckKind.START for step in steps) == 2
    assert draw_steps((), (), 1) == ()


def test_a_finger_warmed_up_between_two_steps_changes_nothing():
    check = a_check()
    assert hear(check, a_take(part("b"), begins=16)) == check
    assert hear(check, a_take(part("c"))) == check
    assert answer(check, "entry", right=True) == check


def test_a_run_with_a_stop_is_told_with_where_it_was():
    parts = [part(section.section_id) for section in SECTIONS]
    parts[2] = part("b", stops=1, errors=7)
    check = hear(a_check(), a_take(*parts))
    result = check.results[0]
    assert result.passed is False
    assert result.says == "Stopped in one section of 4, 10 slips."
    held = {each.section_id: each.held for each in checked_sections(check)}
    assert held == {"c": True, "a": True, "b": False, "d": True}


def test_a_start_is_passed_with_two_right_measures_begun_within_two_seconds():
    check = hear(a_check(), whole())
    step = check.next_step

    def outcome(**changes):
        take = a_take(part(step.section_ids[0]), begins=step.measure_index, **changes)
        return hear(check, take).results[-1].passed

    assert outcome(opening_errors=0, seconds_to_begin=1.5) is True
    assert outcome(opening_errors=0) is True
    assert outcome(opening_errors=0, seconds_to_begin=4.0) is False
    assert outcome(opening_errors=1, seconds_to_begin=1.0) is False
    assert outcome(opening_errors=None) is False


def test_tempo_asks_for_the_tempo_and_memory_does_not():
    check = a_check()
    while check.next_step.kind is not CheckKind.TEMPO:
        check = skip(check)
    slow = hear(check, a_take(part("c", tempo_share=0.8)))
    assert slow.results[-1].passed is False
    assert slow.results[-1].says == "Clean, at 80 % of the tempo."
    assert hear(check, a_take(part("c", tempo_share=0.97))).results[-1].passed is True
    while check.next_step.kind is not CheckKind.MEMORY:
        check = skip(check)
    name = check.next_step.section_ids[0]
    assert hear(check, a_take(part(name, tempo_share=0.8))).results[-1].passed is True
    assert hear(check, a_take(part(name, errors=3))).results[-1].passed is False


def test_steps_left_out_are_not_counted():
    check = a_check()
    while not check.finished:
        check = skip(check)
    assert passed_of(check, CheckKind.START).count == 0
    assert all(each.held is None and each.memory is None for each in checked_sections(check))


def test_a_check_that_is_over_takes_nothing_more():
    check = play_through(a_check())
    assert check.finished
    assert skip(check) == check
    assert hear(check, whole()) == check
    starts = passed_of(check, CheckKind.START)
    assert (starts.passed, starts.count) == (6, 6)
    assert starts.interval[0] < 0.7  # six of six prove little (Wilson)
    assert starts_inside(check).count == 3


def recorded(check, letters, days_later=0):
    found = readiness([evidence(s.name, letters) for s in SECTIONS], TODAY)
    return record_of_check(
        check,
        found,
        entry_id=f"e{days_later}",
        piece_id="p",
        happened_at=NOW + timedelta(days=days_later),
        zone="Europe/Vienna",
    )


def test_a_check_is_kept_as_an_entry_and_read_back():
    record = recorded(play_through(a_check()), "cxcc")
    entry = entry_of(record)
    assert entry.kind == READINESS_CHECK
    assert record_of(entry) == record


def test_an_entry_that_makes_no_sense_is_no_check():
    entry = entry_of(recorded(a_check(), "c"))
    for content in ("", "{}", "[]", json.dumps({"check": 3, "no_stop": None, "slips": None})):
        broken = type(entry)(
            entry_id="e", piece_id="p", kind=READINESS_CHECK, happened_at=NOW, zone="UTC",
            content=content,
        )  # fmt: skip
        assert record_of(broken) is None


def test_two_checks_are_compared_with_what_chance_does():
    check = play_through(a_check())
    change = compare(recorded(check, "xxxxxxxx"), recorded(check, "cccccccc", 9))
    assert change.intervals_apart
    assert change.probability[0] < change.probability[1]
    assert "9 days before" in change.says
    same = compare(recorded(check, "cxcc"), recorded(check, "cxccc", 1))
    assert not same.intervals_apart
    assert "no more than chance" in same.says
    nothing = record_of_check(check, None, entry_id="n", piece_id="p", happened_at=NOW, zone="UTC")
    assert "cannot be compared" in compare(nothing, recorded(check, "c")).says


@given(st.lists(st.sampled_from(["hear", "answer", "skip", "other"]), max_size=30), st.integers())
def test_whatever_comes_in_a_check_moves_one_step_at_most_and_ends(events, seed):
    check = a_check(seed)
    for event in events:
        before = len(check.results)
        if event == "hear":
            check = hear(check, whole())
        elif event == "other":
            check = hear(check, a_take(begins=999))
        elif event == "answer":
            check = answer(check, "entry", right=False)
        else:
            check = skip(check)
        assert len(check.results) - before in (0, 1)
    assert len(check.results) <= len(check.steps)
    assert [r.step_id for r in check.results] == [
        s.step_id for s in check.steps[: len(check.results)]
    ]
