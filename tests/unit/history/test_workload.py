"""Takes correct the estimate: the more of them, the more they count."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from companion.analysis.workload.estimate import estimate_workload
from companion.analysis.workload.ranking import hardest_first
from companion.history.results import FIGURES, SectionResult, Stretch
from companion.history.workload import (
    Observed,
    correct_workload,
    corrected_level,
    observed_level,
    takes_of_sections,
)
from companion.listening.notes import Hands
from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap
from tests.unit.analysis.running_notes import hand_of, score_with

CLEAN = Observed(errors_per_100=0.0, tempo_share=1.0)
POOR = Observed(errors_per_100=24.0, tempo_share=0.5)


def test_a_clean_take_at_tempo_is_level_one():
    assert observed_level(CLEAN) == 1.0
    assert observed_level(Observed(errors_per_100=0.0, tempo_share=1.3)) == 1.0


@pytest.mark.parametrize(
    "half_way",
    [Observed(errors_per_100=8.0), Observed(errors_per_100=0.0, tempo_share=2.0**-0.5)],
)
def test_half_of_the_way_to_five(half_way):
    assert observed_level(half_way) == pytest.approx(3.0)


def test_errors_and_missing_tempo_add_up():
    both = Observed(errors_per_100=8.0, tempo_share=2.0**-0.5)
    assert observed_level(both) == pytest.approx(4.0)


def test_without_takes_the_estimate_stands():
    assert corrected_level(3.2, []) == pytest.approx(3.2)


def test_after_three_takes_practice_and_estimate_weigh_nearly_the_same():
    # by the formula: weights 2^(-2/5), 2^(-1/5), 1 against 3
    weights = 2 ** (-2 / 5) + 2 ** (-1 / 5) + 1
    expected = (3 * 5.0 + weights * 1.0) / (3 + weights)
    assert corrected_level(5.0, [CLEAN] * 3) == pytest.approx(expected)


def test_more_takes_bring_the_level_nearer_to_what_was_heard():
    levels = [corrected_level(5.0, [CLEAN] * count) for count in range(12)]
    assert levels == sorted(levels, reverse=True)
    assert 1.0 < levels[-1] < levels[0]


def test_the_newest_takes_count_most():
    assert corrected_level(3.0, [POOR, CLEAN]) < corrected_level(3.0, [CLEAN, POOR])


def two_sections():
    score = score_with(hand_of([60, 62, 64, 65] * 4 + [60, 84, 61, 85] * 4))
    section_map = SectionMap(
        sections=(
            Section(section_id="a", name="A", start=Position(0), end=Position(1)),
            Section(section_id="b", name="B", start=Position(1), end=Position(2)),
        )
    )
    return section_map, estimate_workload(score, section_map)


def test_practice_can_turn_the_order_round():
    section_map, workload = two_sections()
    assert hardest_first(workload, section_map) == ("b", "a")
    takes = {"a": [POOR] * 8, "b": [CLEAN] * 8}
    corrected = correct_workload(workload, section_map, takes)
    assert hardest_first(corrected, section_map) == ("a", "b")
    assert corrected.section("a").corrected
    assert corrected.section("b").work < workload.section("b").work


def test_sections_without_takes_keep_their_estimate():
    section_map, workload = two_sections()
    corrected = correct_workload(workload, section_map, {"b": [CLEAN]})
    assert corrected.section("a") == workload.section("a")
    assert not corrected.section("a").corrected


def row(section, day, **figures):
    values = dict.fromkeys(FIGURES, 0) | {
        "coverage": 1.0,
        "expected": 100,
        "running_tempo_quarters_per_minute": 50.0,
    }
    return SectionResult(
        take_id=f"t{day}",
        stretch=Stretch.of(section),
        started_at=datetime(2026, 3, 1, tzinfo=UTC) + timedelta(days=day),
        zone="UTC",
        hands=Hands.BOTH,
        **(values | figures),
    )


def test_rows_of_the_history_are_read_in_the_order_of_days():
    section_map, _ = two_sections()
    a = section_map.section("a")
    rows = [row(a, 2, wrong=1), row(a, 1, wrong=2, missed=3, added=1)]
    found = takes_of_sections(section_map, rows, {"a": 100.0})
    assert found == {
        "a": (
            Observed(errors_per_100=6.0, tempo_share=0.5),
            Observed(errors_per_100=1.0, tempo_share=0.5),
        )
    }


def test_one_hand_and_small_pieces_do_not_count():
    section_map, _ = two_sections()
    a = section_map.section("a")
    alone = replace(row(a, 1), hands=Hands.RIGHT)
    assert takes_of_sections(section_map, [alone, row(a, 2, coverage=0.3)], {}) == {}


def test_without_a_target_only_errors_speak():
    section_map, _ = two_sections()
    found = takes_of_sections(section_map, [row(section_map.section("a"), 1)], {"a": None})
    assert found["a"] == (Observed(errors_per_100=0.0, tempo_share=None),)
