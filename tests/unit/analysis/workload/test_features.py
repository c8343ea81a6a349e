"""The features of difficulty against their worked values (formulas of the literature)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from scipy.stats import entropy as scipy_entropy

from companion.analysis.workload.features import (
    distinct_onsets,
    entropy_bits,
    features_of_stretch,
    is_polyrhythm,
    leap_index_bits,
)
from companion.analysis.workload.moments import clock_of, leap_weight, moments_of
from companion.analysis.workload.repetition import Material, materials_of
from companion.score.model import Hand, Position
from tests.unit.analysis.running_notes import hand_of, score_with

EIGHTH, QUARTER = Fraction(1, 2), Fraction(1)
BEGINNING = Position(0)


def features(score, tempo=60.0, start=BEGINNING, end=None):
    moments = {hand: moments_of(score, hand, {}) for hand in Hand}
    clock = clock_of(score, [tempo] * len(score.measures))
    return features_of_stretch(score, start, end or score.end, moments, clock, materials_of(score))


def test_sixteen_sixteenths_at_120_are_eight_notes_a_second():
    found = features(score_with(hand_of([60 + k % 5 for k in range(16)])), tempo=120.0)
    assert found.right.note_rate == pytest.approx(8.0)
    assert found.right.mean_ioi_seconds == pytest.approx(0.125)
    assert found.seconds == pytest.approx(2.0)


def test_entropy_of_c_d_e_c():
    # 1.5 bits, worked out by the formula; scipy says the same
    assert features(score_with(hand_of([60, 62, 64, 60]))).right.pitch_entropy_bits == 1.5
    assert entropy_bits([2, 1, 1]) == pytest.approx(scipy_entropy([2, 1, 1], base=2))
    assert entropy_bits([]) == 0.0


def test_displacement_of_one_octave_a_step_and_a_fifth():
    # Chiu and Chen 2012: 60 72 74 67 gives (2 + 0 + 1) / (2 * 3)
    assert features(score_with(hand_of([60, 72, 74, 67]))).right.displacement_rate == 0.5


@pytest.mark.parametrize(("semitones", "weight"), [(6, 0), (7, 1), (11, 1), (12, 2), (24, 2)])
def test_weight_of_a_step(semitones, weight):
    assert leap_weight([60], [60 + semitones]) == leap_weight([60], [60 - semitones]) == weight


def test_the_way_from_chord_to_chord_is_that_of_its_outer_keys():
    assert leap_weight([60, 64], [62, 76]) == 2.0


def test_stretch_from_c4_to_e5_is_sixteen_semitones_and_wider_than_an_octave():
    found = features(score_with(hand_of([(60, 76), (60, 72)])))
    assert found.right.stretch == 16
    assert found.right.wide_chords == 1
    assert found.right.polyphony == 2.0


def test_independence_of_eighths_over_quarters():
    right = hand_of([60, 62, 64, 65, 67, 65, 64, 62], value=EIGHTH)
    left = hand_of([48, 50, 52, 53], value=QUARTER, staff=2)
    assert features(score_with(right, left)).independence == 0.5


def test_hands_at_the_same_places_do_not_diverge():
    right, left = hand_of([60, 62, 64, 65]), hand_of([48, 50, 52, 53], staff=2)
    found = features(score_with(right, left))
    assert found.metric_divergence == pytest.approx(0.0, abs=1e-9)
    assert found.independence == 0.0


def test_divergence_is_that_of_scipy():
    right = hand_of([60, 62, 64, 65, 67, 65, 64, 62], value=EIGHTH)
    left = hand_of([48, 50, 52, 53], value=QUARTER, staff=2)
    p = [1.01] * 8
    q = [1.01, 0.01] * 4
    expected = scipy_entropy(p, q, base=2)
    assert features(score_with(right, left)).metric_divergence == pytest.approx(expected)


def test_three_against_two_has_four_onsets_and_four_against_three_six():
    assert distinct_onsets(3, 2) == 4
    assert distinct_onsets(4, 3) == 6
    assert is_polyrhythm(3, 2)
    assert is_polyrhythm(4, 3)
    assert not is_polyrhythm(4, 2)
    assert not is_polyrhythm(3, 3)


def test_triplets_over_eighths_are_a_polyrhythm_in_every_beat():
    right = hand_of([60 + k % 3 for k in range(12)], value=Fraction(1, 3))
    left = hand_of([48, 50] * 4, value=EIGHTH, staff=2)
    assert features(score_with(right, left)).polyrhythm == 1.0


def test_triplets_over_quarters_are_none():
    right = hand_of([60 + k % 3 for k in range(12)], value=Fraction(1, 3))
    left = hand_of([48, 50, 48, 50], value=QUARTER, staff=2)
    assert features(score_with(right, left)).polyrhythm == 0.0


@pytest.mark.parametrize(("fifths", "rate"), [(0, 0.25), (1, 0.0), (-1, 0.25)])
def test_notes_outside_the_key_signature(fifths, rate):
    score = score_with(hand_of([60, 62, 64, 66]), fifths=fifths)
    assert features(score).right.altered_rate == rate


def test_black_keys():
    assert features(score_with(hand_of([60, 61, 63, 64]))).right.black_rate == 0.5


def test_leap_index_of_an_octave():
    # log2(2 * 165 / 23.5), Fitts 1954
    assert leap_index_bits(12) == pytest.approx(3.8118, abs=1e-4)
    assert leap_index_bits(0) == 0.0


def test_two_measures_in_turn_are_two_of_four():
    measure_a, measure_b = [60, 62, 64, 65] * 4, [72, 71, 69, 67] * 4
    score = score_with(hand_of([*measure_a, *measure_b, *measure_a, *measure_b]))
    assert features(score).distinct_measures == 0.5


def test_repeated_and_transposed_measures_count_half():
    figure = [60, 62, 64, 65] * 4
    up = [pitch + 5 for pitch in figure]
    other = [72, 76, 79, 76] * 4
    score = score_with(hand_of([*figure, *figure, *up, *other]))
    materials = materials_of(score)[Hand.RIGHT]
    assert [found.material for found in materials] == [
        Material.NEW,
        Material.REPEATED,
        Material.TRANSPOSED,
        Material.NEW,
    ]
    assert [found.counts for found in materials] == [1.0, 0.5, 0.5, 1.0]
    found = features(score)
    assert found.effective_notes == 16 + 8 + 8 + 16
    assert found.new_share == 0.5


def test_another_rhythm_is_other_material():
    one = hand_of([60, 62, 64, 65])
    two = hand_of([60, 62, 64, 65], value=EIGHTH, start=4, name="b")
    assert materials_of(score_with(one, two))[Hand.RIGHT][1].material is Material.NEW


def test_an_empty_stretch_asks_for_nothing():
    score = score_with(hand_of([60, 62, 64, 65]), hand_of([48], staff=2, start=8))
    found = features(score, start=Position(1), end=Position(2))
    assert found.notes == 0
    assert found.right.note_rate == found.independence == found.new_share == 0.0


def test_a_stretch_may_begin_in_the_middle_of_a_measure():
    score = score_with(hand_of(range(60, 76)))
    found = features(score, start=Position(0, Fraction(2)), end=Position(0, Fraction(3)))
    assert found.right.notes == 4
    assert found.seconds == pytest.approx(1.0)
