"""Nobody is told of a restart while a piece is played through, repeats and all."""

from pathlib import Path

import pytest

from companion.demo.pianist import SimulatedPianist
from companion.demo.skill import CONCERT, FLAWLESS
from companion.listening.follower import Follower
from companion.listening.notes import PlaceEvent
from companion.resources import sample_scores_folder
from companion.score.reading.reader import read_score

music21_corpus = pytest.importorskip("music21.common").getCorpusFilePath()

SAMPLES = sorted(path.name for path in sample_scores_folder().glob("*.musicxml"))
CORPUS = (
    "bach/bwv846.mxl",
    "joplin/maple_leaf_rag.mxl",
    "mozart/k80/movement1.mxl",
    "schumann_clara/polonaise_op1n4.mxl",
)
"""Public domain; with written repeats, a da capo, and the same music in several places."""


def leaps_told_of(score, skill):
    """Events that are told of while the piece is played, but for those that are to be."""
    take = SimulatedPianist(score, seed=3).play(skill)
    follower = Follower(score.notes, playing_order=score.playing_order)
    places = [follower.hear(note) for note in take.notes]
    assert sum(place is not None for place in places) > 0.98 * len(places)
    return [
        (place.event, place.measure_index)
        for place in places
        if place is not None and place.event not in (PlaceEvent.FOUND, PlaceEvent.GOES_ON)
    ]


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("skill", [FLAWLESS, CONCERT], ids=["flawless", "concert"])
def test_a_sample_played_through_has_no_restart(name, skill):
    assert leaps_told_of(read_score(sample_scores_folder() / name), skill) == []


@pytest.mark.parametrize("name", CORPUS)
def test_a_printed_piece_played_through_has_no_restart(name):
    assert leaps_told_of(read_score(Path(music21_corpus) / name), CONCERT) == []
