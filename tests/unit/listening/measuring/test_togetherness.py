"""Chords, melody and hands: how together they are struck."""

from dataclasses import replace

import pytest

from companion.listening.definitions import (
    DEFINITIONS,
    DRILL_DEFINITIONS,
    definition,
    drill_definition,
)
from companion.listening.measuring.drills import DrillTry
from companion.listening.measuring.measures import measure_take
from companion.listening.measuring.pedalling import damper_time
from companion.listening.measuring.take_measures import SectionMeasures
from companion.listening.notes import PedalChange
from tests.unit.listening.playing import Performance, map_of, note, score_of

PITCHES = {"top": (76, 1), "middle": (72, 1), "bass": (48, 2)}


def chords(count=4, **changes):
    return score_of(
        [
            note(f"{name}{k}", k // 4, k % 4, 1, pitch, staff, **changes)
            for k in range(count)
            for name, (pitch, staff) in PITCHES.items()
        ],
        (count + 3) // 4,
    )


def row_of(score, shift):
    heard, match = Performance(score).play(shift=shift).finished()
    return measure_take(score, map_of(score, 0), heard, match).whole


def by_name(**ms):
    return lambda n: ms.get(n.note_id.rstrip("0123456789"), 0.0) / 1000


def test_spread_lead_and_offset_of_known_delays():
    row = row_of(chords(), by_name(top=0, middle=20, bass=40))
    assert row.chord_spread_ms == pytest.approx(40)
    assert row.melody_lead_ms == pytest.approx(30)  # mean of 20 and 40
    assert row.left_right_offset_ms == pytest.approx(30)  # 40 less the mean of 0 and 20
    assert (row.chord_count, row.melody_count, row.left_right_count) == (4, 4, 4)


def test_a_leading_left_hand_is_negative():
    row = row_of(chords(), by_name(bass=-25))
    assert row.left_right_offset_ms == pytest.approx(-25)


def test_spreads_over_250_ms_are_taken_for_arpeggios():
    row = row_of(chords(), lambda n: 0.26 if n.note_id == "bass1" else 0.0)
    assert (row.chord_count, row.chord_spread_ms) == (3, pytest.approx(0.0, abs=1e-9))


def test_written_arpeggios_are_left_out():
    row = row_of(chords(arpeggiated=True), by_name(bass=40))
    assert row.chord_spread_ms is row.melody_lead_ms is row.left_right_offset_ms is None


def test_single_notes_have_no_togetherness():
    score = score_of([note(f"n{k}", 0, k, 1, 60 + k, 1) for k in range(4)], 1)
    row = row_of(score, lambda n: 0.0)
    assert (row.chord_spread_ms, row.chord_count) == (None, 0)


def test_graces_do_not_count_as_part_of_the_chord():
    score = chords()
    grace = note("grace", 0, 1, 0, 77, 1, grace=True)
    notes = sorted([*score.notes, grace], key=lambda n: (n.onset_quarters, not n.grace, n.pitch))
    row = row_of(replace(score, notes=tuple(notes)), by_name(grace=-200, bass=10))
    assert row.chord_spread_ms == pytest.approx(10)
    assert row.melody_lead_ms == pytest.approx(5)


def test_without_its_top_note_a_chord_has_no_melody_lead():
    score = chords()
    heard, match = Performance(score).play(miss=("top0", "top1", "top2")).finished()
    row = measure_take(score, map_of(score, 0), heard, match).whole
    assert (row.chord_count, row.melody_count) == (4, 1)


def test_the_damper_hangs_on_between_54_and_64():
    pedals = [PedalChange(k, 64, value) for k, value in enumerate([40, 63, 64, 60, 54, 53, 64, 0])]
    assert damper_time(pedals).down == ((2, 5), (6, 7))


def test_a_damper_that_is_never_released_is_down_to_the_end():
    time = damper_time([PedalChange(1.0, 64, 127)])
    assert time.share(0.0, 4.0) == pytest.approx(0.75)
    assert time.share(2.0, 2.0) == 0.0


def test_the_soft_pedal_is_no_damper():
    assert damper_time([PedalChange(0.0, 67, 127), PedalChange(0.0, 66, 127)]) is None


def test_every_definition_names_a_measure_and_is_one_sentence():
    for known in DEFINITIONS:
        assert hasattr(SectionMeasures, known.name)
        assert known.sentence.endswith(".")
        assert definition(known.name) is known
    assert len({known.name for known in DEFINITIONS}) == len(DEFINITIONS)


def test_every_definition_of_a_drill_names_one_of_its_measures():
    for known in DRILL_DEFINITIONS:
        assert hasattr(DrillTry, known.name)
        assert known.sentence.endswith(".")
        assert drill_definition(known.name) is known
