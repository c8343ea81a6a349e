"""Tempo, steadiness and evenness against numpy, scipy and worked values."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from companion.analysis.grouping.runs import find_runs
from companion.listening.measuring.evenness import evenness
from companion.listening.measuring.measures import measure_take
from companion.listening.measuring.score_index import index_score
from companion.listening.measuring.tempo_curve import running_tempo, steadiness
from companion.score.model import Measure, Score
from tests.unit.listening.playing import Performance, invented_score, map_of, note, score_of


def ones(count):
    return np.ones(count)


def test_evenness_of_the_worked_run():
    # 125 130 120 128 122 125 ms: SD (n - 1) 3.687818, CV .029503, worked out with numpy
    seconds = np.array([125, 130, 120, 128, 122, 125]) / 1000
    result = evenness(np.zeros(6, np.int64), seconds)
    assert result.sd_ms == pytest.approx(3.687818, abs=1e-6)
    assert result.cv == pytest.approx(0.029503, abs=1e-6)
    assert result.count == 6


def test_evenness_is_that_of_scipy_for_one_run():
    stats = pytest.importorskip("scipy.stats")
    seconds = np.random.default_rng(1).normal(0.12, 0.011, 40)
    result = evenness(np.zeros(40, np.int64), seconds)
    assert result.cv == pytest.approx(stats.variation(seconds, ddof=1))
    assert result.sd_ms == pytest.approx(1000 * stats.tstd(seconds))


def test_runs_at_two_tempi_are_not_uneven():
    seconds = np.array([0.1] * 6 + [0.2] * 6)
    assert evenness(np.repeat([0, 1], 6), seconds).sd_ms == pytest.approx(0.0, abs=1e-9)
    assert evenness(np.zeros(12, np.int64), seconds).sd_ms > 40


def test_too_few_intervals_tell_nothing():
    assert evenness(np.zeros(4, np.int64), np.full(4, 0.1)) is None
    assert evenness(np.arange(8), np.full(8, 0.1)) is None


def test_running_tempo_is_the_median_of_local_tempi():
    seconds = np.array([0.5, 0.5, 0.6, 0.4, 5.0])
    assert running_tempo(ones(5), seconds) == pytest.approx(np.median(60 / seconds))


def test_running_tempo_between_two_halves_is_their_mean():
    seconds = np.array([0.5, 0.5, 1.0, 1.0])
    assert running_tempo(ones(4), seconds) == pytest.approx(np.median(60 / seconds))


def test_long_intervals_weigh_by_their_length():
    assert running_tempo(np.array([4.0, 1.0, 1.0]), np.array([4.0, 0.5, 0.5])) == 60.0


def test_a_tap_that_is_missing_does_not_slow_the_running_tempo():
    # taps at 0 .5 1 1.5 2.5 3 s, one beat without a note: 120 beats a minute (worked value)
    times = np.array([0, 0.5, 1, 1.5, 2.5, 3])
    beats = np.array([0, 1, 2, 3, 5, 6])
    assert running_tempo(np.diff(beats).astype(float), np.diff(times)) == pytest.approx(120.0)


def test_no_interval_has_no_tempo():
    assert running_tempo(np.zeros(0), np.zeros(0)) is None


@pytest.mark.parametrize("count", [4, 5, 8, 9, 10, 30])
def test_an_even_slowing_down_is_perfectly_steady(count):
    assert steadiness(ones(count), np.linspace(0.5, 0.8, count)) == pytest.approx(0.0, abs=1e-12)


def test_three_beats_tell_no_steadiness():
    assert steadiness(ones(3), ones(3)) is None


@pytest.mark.parametrize("count", [6, 9, 12, 40])
def test_steadiness_of_random_beats_is_their_coefficient_of_variation_on_average(count):
    # removing the trend takes degrees of freedom; scipy's variation(ddof=1) is the plain value
    stats = pytest.importorskip("scipy.stats")
    random = np.random.default_rng(7)
    beats = random.normal(0.5, 0.03, (3000, count))
    ours = np.mean([steadiness(ones(count), row) ** 2 for row in beats])
    plain = np.mean([stats.variation(row, ddof=1) ** 2 for row in beats])
    assert ours == pytest.approx(plain, rel=0.06)


def test_passages_at_different_tempi_are_steady_each_by_itself():
    beats = np.array([0.5] * 8 + [0.7] * 8)
    assert steadiness(ones(16), beats, np.repeat([0, 1], 8)) == pytest.approx(0.0, abs=1e-12)
    assert steadiness(ones(16), beats) > 0.03


def test_passages_of_three_beats_tell_no_steadiness():
    assert steadiness(ones(6), np.array([1, 2, 1, 2, 1, 2.0]), np.repeat([0, 1], 3)) is None


def test_a_slow_wave_of_the_tempo_is_mostly_taken_out():
    beats = 0.5 * (1 + 0.2 * np.sin(2 * np.pi * np.arange(64) / 32))
    assert np.std(beats, ddof=1) / beats.mean() > 0.13
    assert steadiness(ones(64), beats) < 0.02


def test_steadiness_agrees_with_scipys_straight_line_for_a_short_section():
    signal = pytest.importorskip("scipy.signal")
    beats = np.array([0.5, 0.52, 0.49, 0.55, 0.51, 0.53])
    left = signal.detrend(beats)
    expected = np.sqrt(left @ left / (6 - 2)) / beats.mean()
    assert steadiness(ones(6), beats) == pytest.approx(expected)


def test_beats_of_compound_meter_are_dotted():
    notes = [note(f"n{k}", 0, Fraction(k, 2), Fraction(1, 2), 60 + k, 1) for k in range(6)]
    score = replace(
        score_of(notes, 1),
        measures=(
            Measure(
                index=0,
                number="1",
                start_quarters=Fraction(0),
                duration_quarters=Fraction(3),
                beats=6,
                beat_type=8,
            ),
        ),
    )
    index = index_score(score)
    assert index.onset_on_beat.tolist() == [True, False, False, True, False, False]
    assert set(index.onset_beat_quarters.tolist()) == {1.5}


def with_upbeat() -> Score:
    """3/4 with an upbeat of an eighth, then two measures of quarters."""
    lengths = [Fraction(1, 2), Fraction(3), Fraction(3)]
    starts = [Fraction(0), Fraction(1, 2), Fraction(7, 2)]
    measures = tuple(
        Measure(
            index=k,
            number=str(k),
            start_quarters=starts[k],
            duration_quarters=lengths[k],
            beats=3,
            beat_type=4,
        )
        for k in range(3)
    )
    notes = [note("up", 0, 0, Fraction(1, 2), 67, 1)]
    notes += [
        replace(note(f"n{m}.{k}", m, k, 1, 60 + k, 1), onset_quarters=starts[m] + k)
        for m in (1, 2)
        for k in range(3)
    ]
    return replace(score_of(notes, 3), measures=measures)


def test_an_eighth_upbeat_is_not_on_a_beat():
    assert index_score(with_upbeat()).onset_on_beat.tolist() == [False] + [True] * 6


def test_a_measure_cut_by_a_repeat_counts_its_beats_from_the_missing_bar_line():
    lengths = [Fraction(5, 2), Fraction(1, 2), Fraction(3)]
    starts = [Fraction(0), Fraction(5, 2), Fraction(3)]
    measures = tuple(
        Measure(
            index=k,
            number=str(k),
            start_quarters=starts[k],
            duration_quarters=lengths[k],
            beats=3,
            beat_type=4,
        )
        for k in range(3)
    )
    notes = [
        replace(
            note(f"n{k}", m, offset, Fraction(1, 2), 60 + k, 1), onset_quarters=starts[m] + offset
        )
        for k, (m, offset) in enumerate([(0, 0), (0, 1), (0, 2), (1, 0), (2, 0)])
    ]
    score = replace(score_of(notes, 3), measures=measures)
    assert index_score(score).onset_on_beat.tolist() == [True, True, True, False, True]


def test_runs_are_found_per_hand_and_voice():
    score = invented_score(2)
    (run,) = find_runs(score.notes)
    assert [score.notes[k].note_id for k in run] == [f"r{m}.{k}" for m in (0, 1) for k in range(8)]


@pytest.mark.parametrize("change", [{"grace": True}, {"ornament": "trill"}, {"expected": False}])
def test_special_notes_break_a_run(change):
    notes = [replace(n, **change) if n.note_id == "r0.7" else n for n in invented_score(2).notes]
    assert [len(run) for run in find_runs(notes)] == [7, 8]


def test_a_chord_breaks_a_run():
    notes = [*invented_score(2).notes, note("extra", 0, Fraction(7, 2), Fraction(1, 2), 60, 1)]
    notes.sort(key=lambda n: n.onset_quarters)
    assert [len(run) for run in find_runs(notes)] == [7, 8]


def test_slow_and_short_rows_are_no_runs():
    slow = [note(f"s{k}", k // 4, k % 4, 1, 60, 1) for k in range(12)]
    short = [note(f"t{k}", 0, Fraction(k, 2), Fraction(1, 2), 60 + k, 1) for k in range(5)]
    assert find_runs(slow) == find_runs(short) == ()


def test_evenness_of_a_take_is_that_of_its_intervals():
    random = np.random.default_rng(3)
    jitter = {f"r{m}.{k}": float(random.normal(0, 0.008)) for m in range(4) for k in range(8)}
    score = invented_score(4)
    heard, match = Performance(score).play(late=jitter).finished()
    row = measure_take(score, map_of(score, 0), heard, match).whole
    onsets = [0.25 * k + jitter[f"r{k // 8}.{k % 8}"] for k in range(32)]
    assert row.evenness_count == 31
    assert row.evenness_sd_ms == pytest.approx(1000 * np.std(np.diff(onsets), ddof=1))
    assert row.evenness_cv == pytest.approx(
        np.std(np.diff(onsets), ddof=1) / np.diff(onsets).mean()
    )


def test_a_stop_inside_a_run_does_not_make_it_uneven():
    score = invented_score(4)
    heard, match = Performance(score).play(wait={8.5: 2.0}).finished()
    row = measure_take(score, map_of(score, 0), heard, match).whole
    assert row.stops == 1
    assert row.evenness_sd_ms == pytest.approx(0.0, abs=1e-9)
