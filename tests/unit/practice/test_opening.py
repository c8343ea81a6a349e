import os
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from companion.errors import ScoreUnreadable
from companion.history.edits import SetPerformanceDate
from companion.practice.loading import load_file
from companion.practice.opening import (
    hash_of_file,
    last_piece,
    put_on_shelf,
    read_score_file,
    score_path_of,
)
from companion.practice.standing import standing_of
from companion.score.model import Hand
from tests.unit.practice.practice_examples import a_map, a_score
from tests.unit.storage.history_examples import MOMENT


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "eight.musicxml"
    path.write_text("<score-partwise/>")  # what is in it does not matter: reading is replaced
    return path


def read(path, part=None, score=None):
    return read_score_file(str(path), part, read=lambda *_: score or a_score())


def test_a_new_score_becomes_a_piece_on_the_shelf(history, file):
    opened = put_on_shelf(history, read(file), now=lambda: MOMENT)
    assert (opened.piece.title, opened.piece.composer) == ("Eight measures", "Ilse Vandermeer")
    assert opened.piece in history.shelf()
    assert opened.section_map is None
    assert opened.view == ""
    assert last_piece(history) == opened.piece


def test_opening_the_same_score_again_finds_its_piece_and_all_that_belongs_to_it(
    history, file, tmp_path
):
    first = put_on_shelf(history, read(file), now=lambda: MOMENT).piece
    history.save_section_map(first.piece_id, a_map())
    history.set_hands(first.piece_id, {"n0": Hand.LEFT})
    history.set_view(first.piece_id, "page 2")
    history.apply(SetPerformanceDate(first.piece_id, None, date(2026, 6, 20)))
    moved = tmp_path / "moved.musicxml"
    file.rename(moved)
    again = put_on_shelf(history, read(moved), now=lambda: MOMENT + timedelta(days=1))
    assert again.piece.piece_id == first.piece_id
    assert again.piece.score_path == str(moved)
    assert again.piece.performance_date == date(2026, 6, 20)
    assert again.section_map == a_map()
    assert again.view == "page 2"
    assert next(n for n in again.score.notes if n.note_id == "n0").hand is Hand.LEFT


def test_a_program_that_reads_the_score_otherwise_keeps_the_piece_and_renews_its_basis(
    history, file
):
    before = put_on_shelf(history, read(file))
    after = put_on_shelf(history, read(file, score=replace(a_score(), content_hash="read anew")))
    assert after.piece.piece_id == before.piece.piece_id
    assert after.basis != before.basis


def test_another_part_of_the_same_file_is_another_piece(history, file):
    pieces = {put_on_shelf(history, read(file, part)).piece.piece_id for part in (None, "P2")}
    assert len(pieces) == 2


def test_a_title_that_the_pianist_gave_is_kept(history, file):
    piece = put_on_shelf(history, read(file)).piece
    history.save_piece(replace(piece, title="My piece"))
    assert put_on_shelf(history, read(file)).piece.title == "My piece"


def test_a_score_without_a_title_is_named_after_its_file(history, file):
    nameless = replace(a_score(), title="")
    assert put_on_shelf(history, read(file, score=nameless)).piece.title == "eight"


def test_the_piece_opened_last_is_opened_again(history, file, tmp_path):
    assert last_piece(history) is None  # the piece of the fixture was never opened
    other = tmp_path / "other.musicxml"
    other.write_text("<score-partwise version='4.0'/>")
    put_on_shelf(history, read(other), now=lambda: MOMENT + timedelta(hours=1))
    put_on_shelf(history, read(file), now=lambda: MOMENT)
    assert last_piece(history).score_path == str(other)


def test_a_piece_opens_from_its_own_file_while_that_is_unchanged(history, file, tmp_path):
    piece = put_on_shelf(history, read(file)).piece
    assert score_path_of(history, piece, tmp_path / "unpacked") == file


@pytest.mark.parametrize("lost", ["removed", "changed"])
def test_a_piece_opens_from_our_copy_when_its_file_is_lost(history, file, tmp_path, lost):
    original = file.read_bytes()
    piece = put_on_shelf(history, read(file)).piece
    if lost == "removed":
        file.unlink()
    else:
        file.write_text("something else")
    copy = score_path_of(history, piece, tmp_path / "unpacked")
    assert copy.read_bytes() == original
    assert copy.name == "eight.musicxml"
    copy.write_text("damaged")
    assert score_path_of(history, piece, tmp_path / "unpacked").read_bytes() == original
    again = put_on_shelf(history, read(copy))
    assert again.piece.piece_id == piece.piece_id


def test_a_score_that_is_nowhere_is_told_in_a_sentence(history, tmp_path):
    piece = replace(history.piece("piece"), score_path="/nowhere/mill.mxl")
    with pytest.raises(ScoreUnreadable, match="Please open it again"):
        score_path_of(history, piece, tmp_path)


def test_a_file_that_is_gone_is_told_in_a_sentence(tmp_path):
    with pytest.raises(ScoreUnreadable, match="There is no file"):
        read(tmp_path / "gone.musicxml")


def test_a_piece_that_was_never_played_stands_at_nothing(history):
    standing = standing_of(history, "piece", "basis", a_map())
    assert standing.takes == ()
    assert standing.measures == ()
    assert standing.takes_to_work_out == 0
    assert [summary.take_count for summary in standing.sections.values()] == [0, 0]
    assert all(summary.latest is None for summary in standing.sections.values())


@pytest.mark.parametrize(
    "make", [Path.mkdir, os.mkfifo, lambda path: path.symlink_to(path), lambda path: None]
)
def test_what_is_no_file_has_no_hash_and_is_never_waited_for(tmp_path, make):
    make(tmp_path / "score.musicxml")
    assert hash_of_file(tmp_path / "score.musicxml") == ""


def test_a_pipe_in_the_place_of_a_score_is_told_in_a_sentence(tmp_path):
    os.mkfifo(tmp_path / "score.musicxml")
    with pytest.raises(ScoreUnreadable, match="is not a file"):
        load_file(str(tmp_path / "score.musicxml"), None, tmp_path)


def test_a_piece_whose_file_was_replaced_by_a_pipe_opens_from_our_copy(history, file, tmp_path):
    opened = put_on_shelf(history, read(file))
    file.unlink()
    os.mkfifo(file)
    assert score_path_of(history, opened.piece, tmp_path / "copies") != file
