"""A score that a worker fetches by its name; demo data."""

from dataclasses import replace

import pytest

from companion.errors import ScoreUnreadable
from companion.history.model import Piece
from companion.practice.kept import LOADED_SCORE, LoadedScore, score_key
from companion.practice.lent_score import LentScore, lend, with_score
from companion.practice.opening import OpenPiece, ReadScore
from companion.progress import Progress
from companion.resources import sample_scores_folder
from companion.score.cache import ScoreCache
from companion.score.model import Hand
from companion.score.reading.hands import assign_hands
from companion.score.reading.reader import read_score
from companion.score.sections.proposal import propose_sections
from companion.storage.pieces import ScoreFile


@pytest.fixture(scope="module")
def score():
    return read_score(sample_scores_folder() / "the_footbridge.musicxml")


@pytest.fixture
def opened(score):
    other = next(note for note in score.notes if note.playing_hand is Hand.LEFT)
    hands = {other.note_id: Hand.RIGHT}
    return OpenPiece(
        piece=Piece(piece_id="p", title="t", composer="c", score_hash="lent hash"),
        score=assign_hands(score, hands),
        hands=hands,
        basis="basis",
        section_map=None,
        view="",
        as_read=score,
    )


def keep(score, folder):
    read = ReadScore(
        score=score,
        score_hash="lent hash",
        path="x",
        part="",
        score_file=ScoreFile("x", b""),
    )
    loaded = LoadedScore(read=read, proposal=propose_sections(score))
    ScoreCache(folder).put(score_key("lent hash", None), LOADED_SCORE, loaded)


def hands_of(score, word, report=None):
    if report is not None:
        report(Progress(done=1, total=1, doing=word))
    return word, [note.playing_hand for note in score.notes]


def test_a_kept_score_is_named_and_fetched_with_the_hands_that_the_pianist_gave(
    opened, score, tmp_path
):
    keep(score, tmp_path)
    lent = lend(opened, tmp_path)
    assert isinstance(lent, LentScore)
    told = []
    word, hands = with_score(hands_of, lent, "hands", report=told.append)
    assert word == told[0].doing == "hands"
    assert hands == [note.playing_hand for note in opened.score.notes]


def test_a_score_that_was_not_kept_is_sent(opened, tmp_path):
    assert lend(opened, tmp_path) is opened.score
    assert with_score(len_of_notes, opened.score) == len(opened.score.notes)


def len_of_notes(score):
    return len(score.notes)


def test_a_score_that_left_the_cache_meanwhile_is_told_in_one_sentence(opened, score, tmp_path):
    keep(score, tmp_path)
    lent = replace(lend(opened, tmp_path), cache_folder=tmp_path / "elsewhere")
    with pytest.raises(ScoreUnreadable, match="no longer in the cache"):
        with_score(len_of_notes, lent)
