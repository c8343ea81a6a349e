"""Judging drills: evenness inside groups and delays at their borders, against worked values."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from companion.analysis.grouping.drills import LONG_SHORT, chain_of_groups, stop_on_every
from companion.analysis.grouping.proposal import propose_grouping
from companion.history.drill_days import DrillRecord, drill_days, drill_record
from companion.listening.notes import HeardNote
from companion.practice.drills import hear_drill
from tests.unit.analysis.running_notes import hand_of, score_with

SCORE = score_with(hand_of([60, 62, 64, 65, 67, 69, 71, 72, 74, 72, 71, 69, 67, 65, 64, 62, 60]))
GROUPING = propose_grouping(SCORE)
QUARTER_SECONDS = 0.5


def drill_of(groups=2, first=1, **options):
    return chain_of_groups(SCORE, GROUPING, GROUPING.groups[first], groups, **options)


def played(drill, delays=None, start=0.0, skip=(), wrong=()):
    """An exact performance; ``delays`` are seconds before some steps, kept by all that follow."""
    heard, late = [], 0.0
    pitches = {note.note_id: note.pitch for note in drill.notes}
    for number, step in enumerate(drill.steps):
        late += (delays or {}).get(number, 0.0)
        if number in skip:
            continue
        onset = start + float(step.onset_quarters) * QUARTER_SECONDS + late
        up = 1 if number in wrong else 0
        heard += [HeardNote(onset, 0.1, pitches[note_id] + up) for note_id in step.note_ids]
    return heard


def test_an_exact_performance_is_even_and_on_time():
    (one,) = hear_drill(drill_of(), played(drill_of())).tries
    assert one.clean
    assert one.evenness_sd_ms == pytest.approx(0.0, abs=1e-6)
    assert [border.delay_ms for border in one.borders] == pytest.approx([0.0], abs=1e-6)
    assert one.quarters_per_minute == pytest.approx(120.0)


def test_a_wait_between_groups_is_a_delay_and_no_unevenness():
    drill = drill_of(3)
    (one,) = hear_drill(drill, played(drill, {4: 0.080, 8: -0.030})).tries
    assert [round(border.delay_ms) for border in one.borders] == [80, -30]
    assert [border.note_id for border in one.borders] == ["r5", "r9"]
    assert one.evenness_sd_ms == pytest.approx(0.0, abs=1e-6)
    assert one.border_delay_ms == pytest.approx(25.0)


def test_evenness_is_the_standard_deviation_of_the_worked_run():
    # 125 130 120 128 122 125 ms: SD (n - 1) 3.687818, CV .029503, worked out with numpy
    drill = drill_of(2)
    intervals = [125, 130, 120, 999, 128, 122, 125]
    delays = {k + 1: (ms - 125) / 1000 for k, ms in enumerate(intervals)}
    (one,) = hear_drill(drill, played(drill, delays)).tries
    assert one.evenness_sd_ms == pytest.approx(3.687818, abs=1e-6)
    assert one.evenness_cv == pytest.approx(0.029503, abs=1e-6)
    assert one.borders[0].delay_ms == pytest.approx(999 - 125, abs=0.1)


def test_a_rhythm_is_judged_by_its_own_lengths():
    drill = drill_of(rhythm=LONG_SHORT)
    (one,) = hear_drill(drill, played(drill)).tries
    assert one.evenness_sd_ms == pytest.approx(0.0, abs=1e-6)
    even = [HeardNote(0.125 * number, 0.1, note.pitch) for number, note in enumerate(drill.notes)]
    (flat,) = hear_drill(drill, even).tries
    written = np.array([3, 1, 3, 3, 1, 3]) / 8  # quarters, inside the groups
    tempo = 6 * 0.125 / written.sum()
    expected = np.sqrt(((0.125 - written * tempo) ** 2).sum() / 5)
    assert flat.evenness_sd_ms == pytest.approx(1000 * expected, abs=0.1)


def test_the_time_of_a_stop_is_free():
    drill = drill_of(rhythm=stop_on_every(2))
    (one,) = hear_drill(drill, played(drill, {2: 0.7, 4: 0.4, 6: -0.2})).tries
    assert one.evenness_sd_ms == pytest.approx(0.0, abs=1e-6)
    assert one.borders == ()


def test_each_time_through_is_a_try_of_its_own():
    drill = drill_of(2)
    heard = [
        *played(drill),
        *played(drill, {4: 0.1}, start=4.0),
        *played(drill, {4: 0.2}, start=8.0),
    ]
    result = hear_drill(drill, heard)
    assert len(result.tries) == 3
    assert result.clean_count == 3
    assert result.border_delay_ms == pytest.approx(100.0, abs=0.1)
    assert result.evenness_sd_ms == pytest.approx(0.0, abs=1e-6)


def test_breaking_off_and_beginning_again_is_a_try_that_is_not_complete():
    drill = drill_of(3)
    broken = played(drill)[:7]
    heard = [*broken, *played(drill, {4: 0.05}, start=5.0), *played(drill, start=12.0)]
    result = hear_drill(drill, heard)
    assert [one.complete for one in result.tries] == [False, True, True]
    assert result.clean_count == 2
    assert [border.note_id for border in result.tries[0].borders] == ["r5"]


def test_errors_are_counted_and_a_missed_note_leaves_its_intervals_out():
    drill = drill_of(2)
    (one,) = hear_drill(drill, played(drill, skip=(2,), wrong=(6,))).tries
    assert (one.right, one.wrong, one.missed) == (6, 1, 1)
    assert not one.clean
    assert one.complete
    assert one.intervals == 4


def test_nothing_played_is_no_try():
    result = hear_drill(drill_of(), [])
    assert result.tries == ()
    assert result.evenness_sd_ms is result.border_delay_ms is None


def test_two_notes_tell_nothing_of_evenness():
    drill = drill_of(1)
    (one,) = hear_drill(drill, played(drill, skip=(2, 3))).tries
    assert one.evenness_sd_ms is None
    assert not one.complete


def test_days_of_a_drill():
    result = hear_drill(drill_of(2), played(drill_of(2), {4: 0.05}))
    evening = datetime(2026, 3, 1, 21, tzinfo=UTC)
    record = drill_record(result, take_id="t1", started_at=evening, zone="UTC")
    after_midnight = DrillRecord(
        drill_id=record.drill_id,
        take_id="t2",
        started_at=datetime(2026, 3, 2, 1, tzinfo=UTC),
        zone="UTC",
        tries=2,
        clean=0,
        border_delay_ms=150.0,
    )
    (day,) = drill_days([after_midnight, record])[record.drill_id]
    assert day.day.isoformat() == "2026-03-01"
    assert (day.tries, day.clean) == (3, 1)
    assert day.border_delay_ms == pytest.approx(100.0, abs=0.1)
    assert day.evenness_sd_ms == pytest.approx(0.0, abs=1e-6)
