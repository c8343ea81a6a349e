"""From standings to what is shown, without a window."""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from companion.desktop.knowing import wording
from companion.desktop.knowing.filling import depth_lane, layers_of
from companion.desktop.section_map.depth_lane import DepthLane, DepthLayer
from companion.history.knowing.known import State
from tests.desktop.knowing.knowing_examples import MAP, TODAY, a_content, a_standing


def names(content):
    return [row.standing.name for row in content.rows]


def test_known_longest_comes_first_then_lapsed_then_the_nearest_to_being_known():
    # Coda since day 2, Opening since day 3; Trio lapsed; Bridge has two clean days, Close none
    assert names(a_content()) == ["Coda", "Opening", "Trio", "Bridge", "Close"]


def test_the_core_of_a_section_goes_from_today_down_to_the_day_it_became_known():
    standing = a_standing()
    assert layers_of(standing.section("Opening"), TODAY) == (DepthLayer(0, 17),)
    assert layers_of(standing.section("Trio"), TODAY) == (
        DepthLayer(0, 14, lapsed=True),
        DepthLayer(14, 18),
    )
    assert layers_of(standing.section("Close"), TODAY) == ()


@given(st.text("cx ", max_size=20))
def test_the_layers_of_a_core_lie_on_each_other_without_gaps(letters):
    section = a_standing({"Opening": letters}).section("Opening")
    layers = layers_of(section, TODAY)
    for upper, lower in pairwise(layers):
        assert upper.oldest == lower.newest
        assert upper.lapsed != lower.lapsed
    if layers:
        assert layers[0].newest == 0
        assert layers[0].lapsed == (section.state is not State.KNOWN)
        assert layers[-1].oldest == (TODAY - section.spells[0].known_since).days
        for days_ago in range(layers[-1].oldest + 1):
            on = TODAY - timedelta(days=days_ago)
            inside = [each for each in layers if each.newest < days_ago <= each.oldest]
            if inside:
                assert section.knowledge.known_on(on) == (not inside[0].lapsed)


def test_before_the_first_cold_take_the_map_has_no_cores():
    assert depth_lane(a_standing({})) is None


def test_the_lane_is_as_deep_as_the_longest_and_seams_are_far_enough_apart_to_be_seen():
    lane = depth_lane(a_standing())
    assert (lane.days, lane.seam[0]) == (18, 7)
    assert DepthLane(()).days == 7
    assert DepthLane(()).seam == (1, "day")


def test_the_core_of_a_section_is_told_in_words():
    lane = depth_lane(a_standing())
    assert "Known since" in lane.of_section("Coda").sentence
    assert "18 days" in lane.of_section("Coda").sentence
    assert lane.of_section("Trio").sentence.startswith("Lapsed on")
    assert lane.of_section("Bridge").words[0] == "not yet\n2 of 3"


def test_a_cold_take_is_told_with_its_reason():
    row = a_content().rows[2]
    assert "cold take clean" in wording.cold_take(row, row.standing.cold_takes[0])
    assert "not clean: 1 stop" in wording.cold_take(row, row.standing.cold_takes[-1])


def test_without_a_workload_the_question_is_left_open():
    content = a_content(hardness=None)
    assert content.answer is None
    assert "still being worked out" in wording.question(content)


def test_the_order_of_the_teacher_is_named_when_it_counts():
    told = wording.question(a_content(by_teacher=True))
    assert told.endswith("set by hand.")
    assert wording.question(a_content()) + " Hardness" in told


def test_the_rules_that_judge_the_past_are_told():
    assert wording.judged_by(a_content()).startswith("Judged by the rules of today: clean is")


def test_sections_inside_which_others_lie_are_not_asked_twice():
    around = replace(MAP.sections[0], section_id="around", end=MAP.sections[-1].end)
    assert len(a_content().rows) == len(MAP.sections)
    assert around.section_id not in names(a_content())
