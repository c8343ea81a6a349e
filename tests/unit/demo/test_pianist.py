"""The simulated pianist plays like a person, and knows what it played.

The human figures are medians and ranges of open recordings of professionals (Vienna 4x22, and Hu &
Widmer 2023, arXiv:2309.02399), measured for this project; the tests ask that the simulation lies
in or near those ranges.
"""

import itertools
import statistics
from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest

from companion.demo.performance import BreakKind
from companion.demo.pianist import SimulatedPianist
from companion.demo.skill import CONCERT, FIRST_READING, FLAWLESS, Skill
from companion.demo.touch import Touch
from companion.listening.heard import heard_from
from companion.listening.notes import Beginning, Hands, Verdict
from companion.score.model import Hand, Position, TempoMark
from tests.unit.demo.invented_score import a_note, runs_over_chords, score_of


@pytest.fixture(scope="module")
def score():
    return runs_over_chords()


@pytest.fixture(scope="module")
def flawless(score):
    return SimulatedPianist(score, seed=7).play(FLAWLESS)


def test_the_same_seed_plays_the_same_take(score):
    one = SimulatedPianist(score, seed=3).play(FIRST_READING)
    assert SimulatedPianist(score, seed=3).play(FIRST_READING) == one
    assert SimulatedPianist(score, seed=4).play(FIRST_READING) != one


def test_without_mistakes_every_written_note_is_played_once(score, flawless):
    played = Counter(meant.score_index for meant in flawless.truth)
    assert played == Counter(range(len(score.notes)))
    pitches = [score.notes[meant.score_index].pitch for meant in flawless.truth]
    assert [note.pitch for note in flawless.notes] == pitches
    assert len(flawless.passages) == 1


def test_the_first_note_is_at_zero_and_onsets_rise(flawless):
    onsets = [note.onset_seconds for note in flawless.notes]
    assert onsets[0] == 0.0
    assert onsets == sorted(onsets)


def test_the_messages_hold_exactly_the_notes(score):
    take = SimulatedPianist(score, seed=5, pedal=True).play(FIRST_READING)
    heard = heard_from(take.events)
    assert [(n.pitch, n.velocity) for n in heard.notes] == [
        (n.pitch, n.velocity) for n in take.notes
    ]
    assert [n.duration_seconds for n in heard.notes] == pytest.approx(
        [n.duration_seconds for n in take.notes]
    )
    assert heard.struck_again == heard.stray_releases == heard.doubled == 0
    assert len(heard.pedals) == len(take.pedals) > 0


def test_truth_and_notes_account_for_every_written_note_that_was_passed(score):
    take = SimulatedPianist(score, seed=11).play(FIRST_READING)
    for number, passage in enumerate(take.passages):
        passed = {
            index
            for index, note in enumerate(score.notes)
            if passage.from_quarters <= note.onset_quarters <= passage.to_quarters
        }
        played = {m.score_index for m in take.truth if m.passage == number} - {None}
        left_out = {n.score_index for n in take.left_out if n.passage == number}
        assert played | left_out == passed
        assert not played & left_out


def test_a_wrong_note_is_another_key_and_a_right_one_is_not(score):
    take = SimulatedPianist(score, seed=2).play(FIRST_READING)
    for note, meant in zip(take.notes, take.truth, strict=True):
        if meant.verdict is Verdict.ADDED:
            assert meant.score_index is None
            continue
        written = score.notes[meant.score_index].pitch
        assert (note.pitch == written) is (meant.verdict is Verdict.RIGHT)


def test_mistakes_come_about_as_often_as_the_skill_says(score):
    takes = [SimulatedPianist(score, seed=s).play(CONCERT) for s in range(20)]
    written = 20 * len(score.notes)
    wrong = sum(take.count(Verdict.WRONG) for take in takes)
    left_out = sum(len(take.left_out) for take in takes)
    assert wrong / written * 100 == pytest.approx(CONCERT.wrong_per_100, rel=0.35)
    assert left_out / written * 100 == pytest.approx(CONCERT.left_out_per_100, rel=0.35)


def test_trouble_puts_the_mistakes_where_it_is(score):
    trouble = dict.fromkeys(range(8, 16), 6.0)
    wrong = Counter()
    for seed in range(8):
        take = SimulatedPianist(score, seed=seed, trouble=trouble).play(CONCERT)
        for meant in take.truth:
            if meant.verdict is Verdict.WRONG:
                wrong[score.notes[meant.score_index].measure_index >= 8] += 1
    assert wrong[True] > 3 * wrong[False]


def test_a_stop_is_longer_than_a_beat_and_a_half_and_a_restart_goes_back(score):
    skill = Skill(stops_per_100=3.0, restart_share=0.7)
    take = SimulatedPianist(score, seed=1).play(skill)
    stops = [b for b in take.breaks if b.kind is BreakKind.STOP]
    assert len(stops) >= 3
    assert all(b.added_seconds > 1.5 * 60 / 132 for b in stops)
    assert len(take.passages) > 1
    assert take.passages[0].began_with is Beginning.START
    for earlier, later in itertools.pairwise(take.passages):
        assert later.began_with is Beginning.RESTART
        assert later.from_quarters <= earlier.to_quarters
        assert later.from_quarters % 4 == 0


@pytest.mark.parametrize(("hands", "hand"), [(Hands.RIGHT, Hand.RIGHT), (Hands.LEFT, Hand.LEFT)])
def test_one_hand_alone_plays_only_its_own_notes(score, hands, hand):
    take = SimulatedPianist(score, seed=1).play(FLAWLESS, hands=hands)
    assert {score.notes[m.score_index].playing_hand for m in take.truth} == {hand}


def test_a_section_alone_stays_in_its_measures(score):
    take = SimulatedPianist(score, seed=1).play(FLAWLESS, from_measure_index=4, to_measure_index=6)
    assert {score.notes[m.score_index].measure_index for m in take.truth} == {4, 5, 6}


def test_repeats_are_played_in_the_order_of_playing():
    notes = [a_note(i, 4 * i, 4, 60 + i) for i in range(3)]
    score = score_of(notes, measures=3, playing_order=(0, 1, 0, 2))
    assert [n.pitch for n in SimulatedPianist(score, seed=1).play(FLAWLESS).notes] == [
        60,
        61,
        60,
        62,
    ]
    printed = SimulatedPianist(score, seed=1).play(FLAWLESS, repeats=False)
    assert [n.pitch for n in printed.notes] == [60, 61, 62]


def test_a_slow_skill_plays_slower(score, flawless):
    slow = SimulatedPianist(score, seed=7).play(
        Skill(tempo_share=0.5, wrong_per_100=0, left_out_per_100=0, added_per_100=0)
    )
    ratio = slow.notes[-1].onset_seconds / flawless.notes[-1].onset_seconds
    assert ratio == pytest.approx(2.0, rel=0.05)


def test_tempo_marks_along_the_score_are_followed():
    notes = [a_note(i, i, 1, 60 + i % 5) for i in range(32)]
    score = score_of(notes, measures=8, quarters_per_minute=60.0)
    faster = TempoMark(position=Position(4), text="faster", quarters_per_minute=120.0)
    score = replace(score, tempo_marks=(*score.tempo_marks, faster))
    even = Touch(rubato=0.0, unevenness_seconds=0.0)
    onsets = [
        n.onset_seconds for n in SimulatedPianist(score, seed=1, touch=even).play(FLAWLESS).notes
    ]
    assert onsets[16] == pytest.approx(16.0, rel=0.1)
    assert onsets[24] - onsets[16] == pytest.approx(4.0, rel=0.1)


def test_an_ornament_is_one_note_and_its_ornament_strokes():
    notes = [a_note(0, 0, 2, 72, ornament="trill"), a_note(1, 2, 2, 71)]
    take = SimulatedPianist(score_of(notes, measures=1), seed=1).play(FLAWLESS)
    strokes = [m for m in take.truth if m.score_index == 0]
    assert [m.verdict for m in strokes].count(Verdict.RIGHT) == 1
    assert [m.verdict for m in strokes].count(Verdict.ORNAMENT) >= 4
    assert {n.pitch for n, m in zip(take.notes, take.truth, strict=True) if m in strokes} == {
        72,
        74,
    }


def test_grace_notes_come_before_their_note():
    notes = [a_note(0, 0, 2, 60), a_note(1, 2, 0, 74, grace=True), a_note(2, 2, 2, 72)]
    take = SimulatedPianist(score_of(notes, measures=1), seed=1).play(FLAWLESS)
    assert [n.pitch for n in take.notes] == [60, 74, 72]


def test_an_arpeggio_is_rolled_from_below():
    notes = [a_note(i, 0, 4, p, arpeggiated=True) for i, p in enumerate((60, 64, 67, 72))]
    take = SimulatedPianist(score_of(notes, measures=1), seed=1).play(FLAWLESS)
    assert [n.pitch for n in take.notes] == [60, 64, 67, 72]
    assert take.notes[-1].onset_seconds > 0.09


def test_a_unison_of_two_voices_is_one_stroke():
    notes = [a_note(0, 0, 1, 60, voice=1), a_note(1, 0, 4, 60, voice=2)]
    take = SimulatedPianist(score_of(notes, measures=1), seed=1).play(FLAWLESS)
    assert len(take.notes) == 1
    assert {take.truth[0].score_index, *take.truth[0].also} == {0, 1}


def test_nothing_to_play_is_refused():
    with pytest.raises(ValueError, match="nothing to play"):
        SimulatedPianist(score_of([], measures=1), seed=1).play()


# ---- human figures


def onsets_by_place(score, take, hand=None):
    places = {}
    for note, meant in zip(take.notes, take.truth, strict=True):
        written = score.notes[meant.score_index]
        if hand in (None, written.playing_hand):
            places.setdefault(written.onset_quarters, []).append((written.pitch, note))
    return places


def test_chords_are_spread_as_by_professionals(score, flawless):
    # Median 13.5 ms (Mozart) to 31 ms (Romantic excerpts); 95 % within 69 ms.
    spreads = []
    for struck in onsets_by_place(score, flawless).values():
        if len(struck) >= 3:
            onsets = [note.onset_seconds for _, note in struck]
            spreads.append(1000 * (max(onsets) - min(onsets)))
    assert 13 <= statistics.median(spreads) <= 31
    assert sorted(spreads)[int(0.95 * len(spreads))] < 69


def test_the_melody_leads(score, flawless):
    # 5.8 ms (Mozart) to 20.9 ms (Romantic excerpts), mean lead of the top note.
    leads = []
    for struck in onsets_by_place(score, flawless).values():
        if len(struck) >= 3:
            top = max(struck, key=lambda pair: pair[0])
            others = [note.onset_seconds for pair in struck if pair is not top for note in pair[1:]]
            leads.append(1000 * (statistics.mean(others) - top[1].onset_seconds))
    assert 5 <= statistics.mean(leads) <= 21


def test_runs_are_as_even_as_those_of_professionals(score, flawless):
    # Sixteenths of at most 130 ms: standard deviation of intervals 8.5 to 19.0 ms (p10 to p90).
    right = sorted(
        (quarters, struck[0][1].onset_seconds)
        for quarters, struck in onsets_by_place(score, flawless, Hand.RIGHT).items()
    )
    deviations = []
    for first in range(0, len(right) - 16, 16):
        run = [onset for _, onset in right[first : first + 9]]
        gaps = [1000 * (b - a) for a, b in itertools.pairwise(run)]
        deviations.append(statistics.stdev(gaps))
    assert 8.5 <= statistics.median(deviations) <= 19.0


def test_releases_in_runs_are_those_of_professionals(score, flawless):
    # Release against the next onset in sixteenth runs: median -27 ms, quartiles -52 to +1.
    right = sorted(
        (quarters, struck[0][1])
        for quarters, struck in onsets_by_place(score, flawless, Hand.RIGHT).items()
    )
    overlaps = [
        1000 * (a.onset_seconds + a.duration_seconds - b.onset_seconds)
        for (_, a), (_, b) in itertools.pairwise(right)
    ]
    assert -52 <= statistics.median(overlaps) <= 1


def test_dynamics_have_the_range_of_a_professional_take(score, flawless):
    # p95 - p5 of velocity: 40 to 49.
    velocities = sorted(note.velocity for note in flawless.notes)
    spread = velocities[int(0.95 * len(velocities))] - velocities[int(0.05 * len(velocities))]
    assert 33 <= spread <= 52


def test_beats_breathe_as_in_professional_playing(score, flawless):
    # Coefficient of variation of beat periods in Mozart: .076 to .146 (p10 to p90).
    places = onsets_by_place(score, flawless)
    beats = [
        statistics.median(n.onset_seconds for _, n in places[Fraction(beat)])
        for beat in range(4 * 14)
    ]
    periods = [b - a for a, b in itertools.pairwise(beats)]
    assert 0.04 <= statistics.stdev(periods) / statistics.mean(periods) <= 0.146
