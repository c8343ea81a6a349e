"""What is said of a section, and how fast a tempo word is."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from music21 import tempo as music21_tempo

from companion.analysis.workload.estimate import estimate_workload, target_tempi
from companion.analysis.workload.shares import Shares, typical_shares
from companion.analysis.workload.tempo_words import BEATS_PER_MINUTE, beats_per_minute_of
from companion.score.model import Position, TempoMark
from companion.score.sections.section_map import Section, SectionMap
from tests.unit.analysis.running_notes import hand_of, score_with


@pytest.mark.parametrize(
    "word", sorted(set(BEATS_PER_MINUTE) & set(music21_tempo.defaultTempoValues))
)
def test_tempo_words_are_those_of_music21(word):
    assert BEATS_PER_MINUTE[word] == music21_tempo.defaultTempoValues[word]


def test_most_words_have_an_outside_source():
    assert len(set(BEATS_PER_MINUTE) & set(music21_tempo.defaultTempoValues)) >= 13


@pytest.mark.parametrize(
    ("text", "beats"),
    [
        ("Allegro di molto e con brio", 132),
        ("GRAVE.", 40),
        ("Sehr langsam", 56),
        ("Tempo I", None),
        ("", None),
    ],
)
def test_the_first_tempo_word_counts(text, beats):
    assert beats_per_minute_of(text) == beats


def mark(text, figure=None, measure=0):
    return TempoMark(position=Position(measure), text=text, quarters_per_minute=figure)


def test_a_word_counts_in_beats_of_the_meter():
    score = score_with(hand_of(range(60, 72)), beats=6, beat_type=8)
    score = replace(score, tempo_marks=(mark("Allegro"),))
    assert target_tempi(score, SectionMap(sections=()))[0] == 132 * 1.5


def test_a_figure_goes_before_its_word():
    score = replace(score_with(hand_of(range(60, 72))), tempo_marks=(mark("Presto", 66.0),))
    assert target_tempi(score, SectionMap(sections=()))[0] == 66.0


def test_a_word_that_follows_a_figure_holds_from_there():
    score = score_with(hand_of([60 + k % 12 for k in range(32)]))
    score = replace(score, tempo_marks=(mark("", 66.0), mark("Lento", None, 1)))
    assert target_tempi(score, SectionMap(sections=())) == (66.0, 52.0)


def test_typical_shares_are_mean_and_hardest_quarter_together():
    easy, hard = Shares(speed=1.0), Shares(speed=5.0)
    # 3 easy and 1 hard measure of equal notes: mean 2, hardest quarter 5
    rows = [(easy, 4), (easy, 4), (easy, 4), (hard, 4), (Shares(), 0)]
    assert typical_shares(rows).speed == pytest.approx((2.0 + 5.0) / 2)
    assert typical_shares([]) == Shares()


def sections_of(*halves):
    score = score_with(*halves)
    middle = len(score.measures) // 2
    section_map = SectionMap(
        sections=(
            Section(section_id="a", name="A", start=Position(0), end=Position(middle)),
            Section(section_id="b", name="B", start=Position(middle), end=score.end),
        )
    )
    workload = estimate_workload(score, section_map)
    return [workload.section(name).in_words for name in "ab"]


def test_accidentals_and_new_material_are_named():
    plain = hand_of([60, 62, 64, 65] * 16)
    odd = hand_of([61, 63, 66, 68, 61, 66, 63, 68, 70, 66, 63, 61, 68, 66, 63, 61] * 2, start=16)
    odd = [*odd, *hand_of([70, 68, 66, 63, 61, 63, 66, 68] * 4, start=24, name="o")]
    first, second = sections_of(plain, odd)
    assert "many accidentals" in second
    assert "many accidentals" not in first


def test_faster_notes_alone_are_called_fast_and_nothing_else():
    slow = hand_of([60, 62, 64, 65] * 4, value=Fraction(1, 2))
    fast = hand_of([60, 62, 64, 65] * 8, start=8, name="f")
    _, second = sections_of(slow, fast)
    assert second.split(", ")[0] == "fast"
    assert "leaps" not in second


def test_full_chords_and_wide_stretches_name_their_hand():
    notes = hand_of([48, 50, 52, 53] * 2, value=Fraction(1), staff=2)
    chords = [(36, 43, 52), (38, 45, 53), (40, 47, 55), (41, 48, 57)] * 2
    wide = hand_of(chords, value=Fraction(1), staff=2, start=8, name="w")
    _, second = sections_of(notes, wide)
    assert "full chords in the left hand" in second
    assert "wide stretches in the left hand" in second


def test_a_rest_has_nothing_to_play():
    first, _ = sections_of(hand_of([60, 62, 64, 65], start=12))
    assert first == "nothing to play"
