"""What holds for the workload of any music."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from companion.analysis.workload.estimate import estimate_workload
from companion.analysis.workload.ranking import hardest_first
from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap
from tests.unit.analysis.running_notes import hand_of, score_with

STEP = st.one_of(st.none(), st.integers(48, 84), st.just((60, 64, 67)))
HANDS = st.tuples(
    st.lists(STEP, min_size=1, max_size=30),
    st.lists(STEP, min_size=1, max_size=30),
    st.sampled_from([Fraction(1, 4), Fraction(1, 3), Fraction(1, 2)]),
)


def piece(hands, border=1):
    right, left, value = hands
    held = hand_of([55], value=Fraction(1), start=8, name="last")
    score = score_with(hand_of(right, value=value), hand_of(left, staff=2), held)
    sections = (
        Section(section_id="a", name="A", start=Position(0), end=Position(border)),
        Section(section_id="b", name="B", start=Position(border), end=score.end),
    )
    return score, SectionMap(sections=sections)


@settings(max_examples=30, deadline=None)
@given(hands=HANDS, slower=st.floats(30, 200), more=st.floats(1.01, 3.0))
def test_a_faster_target_never_makes_a_section_easier(hands, slower, more):
    score, section_map = piece(hands)
    count = len(score.measures)
    slow = [slower] * count
    fast = [slower * more, *slow[1:]]
    before = estimate_workload(score, section_map, quarters_per_minute=slow)
    after = estimate_workload(score, section_map, quarters_per_minute=fast)
    assert after.section("a").difficulty >= before.section("a").difficulty - 1e-9
    assert after.section("a").rank <= before.section("a").rank
    assert abs(after.section("b").difficulty - before.section("b").difficulty) < 1e-9


@settings(max_examples=30, deadline=None)
@given(hands=HANDS)
def test_levels_stay_on_their_scale_and_ranks_are_an_order(hands):
    score, section_map = piece(hands)
    workload = estimate_workload(score, section_map)
    assert all(1.0 <= section.level <= 5.0 for section in workload.sections)
    assert sorted(section.rank for section in workload.sections) == [1, 2]
    assert sorted(hardest_first(workload, section_map)) == ["a", "b"]
    assert all(section.work >= 0.0 for section in workload.sections)


@settings(max_examples=30, deadline=None)
@given(hands=HANDS, up=st.sampled_from([-12, 12]))
def test_an_octave_makes_no_difference(hands, up):
    right, left, value = hands

    def moved(steps):
        return [
            None if s is None else s + up if isinstance(s, int) else [p + up for p in s]
            for s in steps
        ]

    score, section_map = piece(hands)
    other = score_with(
        hand_of(moved(right), value=value),
        hand_of(moved(left), staff=2),
        hand_of([55 + up], value=Fraction(1), start=8, name="last"),
    )
    one, two = (estimate_workload(s, section_map) for s in (score, other))
    for name in "ab":
        assert abs(one.section(name).difficulty - two.section(name).difficulty) < 1e-9
        assert one.section(name).reasons == two.section(name).reasons
