"""What holds for drills of any run and for every way of playing them."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from companion.analysis.grouping.drills import DrillKind, chain_of_groups, drills_of_group
from companion.analysis.grouping.model import Way
from companion.analysis.grouping.proposal import propose_grouping
from companion.listening.notes import HeardNote
from companion.practice.drills import hear_drill
from tests.unit.analysis.running_notes import hand_of, score_with

RUNS = st.lists(st.integers(48, 84), min_size=6, max_size=24)
SCALE = [60, 62, 64, 65, 67, 69, 71, 72, 74]


@given(
    pitches=RUNS, way=st.sampled_from(Way), value=st.sampled_from([Fraction(1, 4), Fraction(1, 3)])
)
def test_drills_keep_the_order_of_the_notes_and_the_length_of_groups(pitches, way, value):
    score = score_with(hand_of(pitches, value=value))
    grouping = propose_grouping(score, way)
    assume(grouping.runs)
    order = {note_id: place for place, note_id in enumerate(grouping.runs[0].run.note_ids)}
    for group in grouping.groups[:3]:
        for drill in drills_of_group(score, grouping, group):
            places = [order[note_id] for note_id in drill.note_ids]
            assert places == list(range(places[0], places[0] + len(places)))
            onsets = [step.onset_quarters for step in drill.steps]
            assert onsets[0] == 0
            assert onsets == sorted(set(onsets))
            if drill.kind is DrillKind.RHYTHM and not drill.rhythm.stop_every:
                beginnings = [
                    step.onset_quarters
                    for before, step in zip(drill.steps, drill.steps[1:], strict=False)
                    if before.group != step.group
                ]
                assert all((onset / value).denominator == 1 for onset in beginnings)


@settings(max_examples=40, deadline=None)
@given(
    waits=st.lists(st.floats(0.08, 0.4), min_size=8, max_size=8),
    slower=st.floats(0.5, 2.0),
)
def test_evenness_and_delays_are_those_of_numpy_and_follow_the_tempo(waits, slower):
    score = score_with(hand_of(SCALE))
    grouping = propose_grouping(score, Way.BEAT)
    drill = chain_of_groups(score, grouping, grouping.groups[0], 2)
    onsets = np.concatenate(([0.0], np.cumsum(waits)))
    found = []
    for factor in (1.0, slower):
        heard = [
            HeardNote(factor * float(onset), 0.05, note.pitch)
            for onset, note in zip(onsets, drill.notes, strict=False)
        ]
        (one,) = hear_drill(drill, heard).tries
        found.append(one)
    inside = np.array([wait for place, wait in enumerate(waits) if place not in (3, 7)])
    assert found[0].evenness_sd_ms == pytest.approx(1000 * inside.std(ddof=1), abs=1e-6)
    assert found[0].borders[0].delay_ms == pytest.approx(1000 * (waits[3] - inside.mean()))
    assert found[1].evenness_cv == pytest.approx(found[0].evenness_cv, abs=1e-6)
    assert found[1].evenness_sd_ms == pytest.approx(slower * found[0].evenness_sd_ms, abs=1e-6)
