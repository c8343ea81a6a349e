"""Measures of a real pianist: the aligned performance that PyPI's ``parangonar`` carries.

The file (a Mozart variation in 2/4 with an expert alignment, "match" format 5) is read here line by
line; the package itself is not imported. Professional ranges: own analysis of the openly available
Batik-plays-Mozart recordings (Hu & Widmer 2023, arXiv:2309.02399) and of the Vienna 4x22 corpus.
"""

import importlib.util
import re
from collections import defaultdict
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from companion.listening.measuring.measures import measure_take
from companion.listening.notes import (
    Beginning,
    Hands,
    HeardNote,
    JudgedNote,
    Match,
    MissedNote,
    Passage,
    Verdict,
)
from companion.score.model import Measure, Position, Score, ScoreNote
from companion.score.sections.section_map import Section, SectionMap

PACKAGE = importlib.util.find_spec("parangonar")
pytestmark = pytest.mark.skipif(PACKAGE is None, reason="parangonar is not installed")

SNOTE = re.compile(
    r"snote\((?P<id>[^,]+),\[(?P<step>\w),(?P<alter>[^\]]*)\],(?P<octave>\d+),(?P<measure>\d+):"
    r"(?P<beat>\d+),(?P<offset>[^,]+),(?P<length>[^,]+),[^,]+,[^,]+,\[(?P<signs>[^\]]*)\]\)"
)
NOTE = re.compile(
    r"note\((?P<id>[^,]+),\[\w,[^\]]*\],\d+,(?P<on>\d+),(?P<off>\d+),\d+,(?P<vel>\d+)\)"
)
PITCH_CLASS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
ALTER = {"n": 0, "#": 1, "b": -1, "x": 2, "##": 2, "bb": -2}
TICKS_PER_SECOND = 960  # 480 units a quarter at 500,000 microseconds


@pytest.fixture(scope="module")
def performance():
    lines = (Path(PACKAGE.origin).parent / "assets" / "mozart_k265_var1.match").read_text()
    return read_match(lines.splitlines())


def read_match(lines):
    notes, heard, pairs, missed = [], [], [], []
    for line in lines:
        written, struck = SNOTE.search(line), NOTE.search(line.rpartition("-")[2])
        if written:
            notes.append(written_note(written))
        if struck:
            on, off = int(struck["on"]), int(struck["off"])
            heard.append(
                HeardNote(
                    on / TICKS_PER_SECOND, (off - on) / TICKS_PER_SECOND, 60, int(struck["vel"])
                )
            )
            pairs.append((notes[-1].note_id if written else None, heard[-1]))
        elif written:
            missed.append(notes[-1])
    notes.sort(key=lambda n: (n.onset_quarters, not n.grace, n.pitch))
    pairs.sort(key=lambda pair: pair[1].onset_seconds)
    return score_of(notes), pairs, match_of(notes, pairs, missed)


def written_note(found):
    measure = int(found["measure"]) - 1
    offset = Fraction(found["offset"]) * 4 + int(found["beat"]) - 1
    pitch = 12 * (int(found["octave"]) + 1) + PITCH_CLASS[found["step"]] + ALTER[found["alter"]]
    left = "staff2" in found["signs"] or pitch < 60
    return ScoreNote(
        found["id"],
        2 * measure + offset,
        Fraction(found["length"]) * 4,
        pitch,
        2 if left else 1,
        5 if left else 1,
        measure,
        offset,
        grace="grace" in found["signs"],
    )


def score_of(notes):
    count = max(n.measure_index for n in notes) + 1
    return Score(
        title="A variation",
        composer="",
        measures=tuple(
            Measure(
                index=k,
                number=str(k + 1),
                start_quarters=Fraction(2 * k),
                duration_quarters=Fraction(2),
                beats=2,
                beat_type=4,
            )
            for k in range(count)
        ),
        notes=tuple(notes),
    )


def match_of(notes, pairs, missed):
    index = {n.note_id: k for k, n in enumerate(notes)}
    judged = tuple(
        JudgedNote(
            played=k,
            onset_seconds=struck.onset_seconds,
            pitch=struck.pitch,
            verdict=Verdict.RIGHT if note_id else Verdict.ADDED,
            passage=0,
            note_id=note_id,
        )
        for k, (note_id, struck) in enumerate(pairs)
    )
    left_out = tuple(
        MissedNote(
            score_index=index[n.note_id],
            note_id=n.note_id,
            measure_index=n.measure_index,
            offset_quarters=n.measure_offset_quarters,
            pitch=n.pitch,
            passage=0,
            before_played=0,
        )
        for n in missed
    )
    passage = Passage(
        index=0,
        first_played=0,
        last_played=len(pairs) - 1,
        from_quarters=notes[0].onset_quarters,
        to_quarters=notes[-1].onset_quarters,
        from_measure_index=0,
        to_measure_index=notes[-1].measure_index,
        hands=Hands.BOTH,
        began_with=Beginning.START,
    )
    return Match(notes=judged, missed=left_out, passages=(passage,))


@pytest.fixture(scope="module")
def take(performance):
    score, pairs, match = performance
    whole = Section(section_id="all", name="All", start=Position(0), end=score.end)
    return measure_take(score, SectionMap(sections=(whole,)), [p[1] for p in pairs], match)


def times_of(performance, chosen):
    """Onset in quarters -> struck times of the chosen notes, straight from the file."""
    score, pairs, _ = performance
    notes = {n.note_id: n for n in score.notes}
    times = defaultdict(list)
    for note_id, struck in pairs:
        if note_id and chosen(notes[note_id]) and not notes[note_id].grace:
            times[notes[note_id].onset_quarters].append(struck.onset_seconds)
    return times


def test_every_note_of_the_file_is_counted(performance, take):
    score, pairs, match = performance
    assert take.whole.expected == len(score.notes)
    assert take.whole.right == sum(note_id is not None for note_id, _ in pairs)
    assert take.whole.added == sum(note_id is None for note_id, _ in pairs)
    assert take.whole.missed == len(match.missed)


def test_a_professional_makes_few_errors(take):
    # median of 88 professional performances 1.22 errors per 100 notes, maximum 5.79
    assert take.whole.errors_per_100 < 5.79
    assert take.whole.accuracy > 0.97


def test_running_tempo_is_the_median_of_the_beats_in_the_file(performance, take):
    times = times_of(performance, lambda note: note.onset_quarters % 1 == 0)
    beats = sorted(times)
    quarters = np.diff([float(b) for b in beats])
    seconds = np.diff([np.median(times[b]) for b in beats])
    tempi = np.repeat(60 * quarters / seconds, quarters.astype(int))
    assert take.whole.running_tempo_quarters_per_minute == pytest.approx(np.median(tempi), rel=0.01)


def test_steadiness_is_below_the_plain_variation_and_of_its_order(performance, take):
    times = times_of(performance, lambda note: note.onset_quarters % 1 == 0)
    beats = sorted(times)
    periods = np.diff([np.median(times[b]) for b in beats]) / np.diff([float(b) for b in beats])
    plain = np.std(periods, ddof=1) / np.mean(periods)
    assert 0.3 * plain < take.whole.steadiness < 1.1 * plain
    # Mozart movements of a professional: median .099, 10th to 90th percentile .076 to .146,
    # before the slow trend is taken out
    assert 0.01 < take.whole.steadiness < 0.146


def test_sixteenth_runs_are_as_even_as_those_of_professionals(take):
    # 695 runs: median SD 11.7 ms at intervals up to 130 ms (10th percentile 8.5), 17.6 up to 180
    assert take.whole.evenness_count > 50
    assert 6.0 < take.whole.evenness_sd_ms < 28.4


def test_chords_are_as_together_as_those_of_professionals(take):
    # chord spread: median 13.5 ms (Batik) to 31 ms (Vienna); hand asynchrony median 17.7 ms
    assert 5.0 < take.whole.chord_spread_ms < 58.0
    assert abs(take.whole.left_right_offset_ms) < 41.0


def test_a_professional_hardly_ever_seems_to_hesitate(take):
    # the rule fires on 0.12 % of professional Mozart onsets, 0.8 % of romantic ones
    assert take.whole.hesitations + take.whole.stops <= 2
    assert take.whole.restarts == take.whole.jumps == 0


def test_the_dynamic_range_is_human(take):
    # 95th less 5th percentile of velocity: 40 to 49 over whole movements
    assert 15 < take.whole.dynamic_range < 70
