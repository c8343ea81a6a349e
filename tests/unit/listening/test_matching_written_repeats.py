"""Written repeats and endings: following them is no jump, leaving them out is no fault."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from companion.demo.pianist import SimulatedPianist
from companion.demo.skill import CONCERT, FLAWLESS
from companion.listening.decoding.score_onsets import lay_out_onsets
from companion.listening.follower import Follower
from companion.listening.matching.match import match_take
from companion.listening.notes import Beginning, PlaceEvent, Verdict
from companion.resources import sample_scores_folder
from companion.score.reading.reader import read_score
from tests.unit.listening.invented_music import played, written

TWICE = (0, 1, 2, 3, 0, 1, 2, 4, 5, 6, 7)
"""Measures 0 to 2 repeated, with 3 as first and 4 as second ending."""


def with_repeat(score, quarter=0.5):
    first = played(score, to_quarters=16, quarter=quarter)
    second = played(score, to_quarters=12, start=16 * quarter, quarter=quarter)
    rest = played(score, from_quarters=16, start=28 * quarter, quarter=quarter)
    return [*first, *second, *rest], (len(first), len(first) + len(second))


def test_a_repeat_and_its_second_ending_are_no_jumps():
    score = written()
    take, (second, ending) = with_repeat(score)
    match = match_take(score, take, playing_order=TWICE)
    assert {note.verdict for note in match.notes} == {Verdict.RIGHT}
    assert not match.missed
    assert [
        (p.first_played, p.from_measure_index, p.to_measure_index, p.began_with)
        for p in match.passages
    ] == [
        (0, 0, 3, Beginning.START),
        (second, 0, 2, Beginning.GOES_ON),
        (ending, 4, 7, Beginning.GOES_ON),
    ]


def test_leaving_a_repeat_out_is_one_passage():
    score = written()
    match = match_take(score, played(score), playing_order=TWICE)
    assert [p.began_with for p in match.passages] == [Beginning.START]
    assert not match.missed


def test_a_note_missed_at_a_leap_is_missed_in_its_own_round():
    score = written()
    take, (second, _) = with_repeat(score)
    last_written = max(i for i, note in enumerate(score) if note.onset_quarters < 16)
    del take[second]  # the first note of the second round
    del take[second - 1]  # the last one of the first round
    match = match_take(score, take, playing_order=TWICE)
    assert [(m.score_index, m.passage) for m in match.missed] == [(last_written, 0), (0, 1)]
    assert [p.began_with for p in match.passages[1:]] == [Beginning.GOES_ON] * 2


def test_going_back_elsewhere_is_still_a_restart():
    score = written()
    first = played(score, from_quarters=8, to_quarters=18)
    second = played(score, from_quarters=8, to_quarters=18, start=first[-1].onset_seconds + 2)
    match = match_take(score, [*first, *second], playing_order=TWICE)
    assert [p.began_with for p in match.passages] == [Beginning.START, Beginning.RESTART]


def test_the_follower_goes_on_over_a_repeat_at_the_same_tempo():
    score = written()
    take, (second, ending) = with_repeat(score)
    follower = Follower(score, playing_order=TWICE)
    places = [follower.hear(note) for note in take]
    assert {place.event for place in places[4:]} == {PlaceEvent.GOES_ON}
    assert places[second + 1].measure_index == 0
    assert places[ending + 1].measure_index == 4
    tempi = [place.quarters_per_minute for place in places[second : second + 20]]
    assert tempi == pytest.approx([120.0] * 20, rel=0.02)


@pytest.mark.parametrize("skill", [FLAWLESS, CONCERT])
@pytest.mark.parametrize("name", ["minuet_and_trio_in_d_major", "waltz_at_the_ferry"])
def test_sample_scores_with_repeats_and_da_capo_are_matched_as_they_were_meant(name, skill):
    score = read_score(sample_scores_folder() / f"{name}.musicxml")
    meant = SimulatedPianist(score, seed=5).play(skill)
    match = match_take(score.notes, meant.notes, playing_order=score.playing_order)
    wrongly_told = Counter(
        (truth.verdict, found.verdict)
        for truth, found in zip(meant.truth, match.notes, strict=True)
        if truth.verdict is not found.verdict
        or found.score_index not in (truth.score_index, *truth.also)
    )
    assert not wrongly_told
    assert len(match.missed) == len(meant.left_out)
    assert {p.began_with for p in match.passages[1:]} == {Beginning.GOES_ON}


def test_without_written_leaps_the_order_changes_nothing():
    score = written()
    take = [replace(note) for note in played(score)]
    assert match_take(score, take, playing_order=range(8)) == match_take(score, take)
    assert not len(lay_out_onsets(score, range(8)).leaps.source)


def test_an_order_of_measures_that_are_not_there_is_passed_over():
    onsets = lay_out_onsets(written(), (0, 1, 99, 5))
    assert np.all(onsets.leaps.target < onsets.size)
