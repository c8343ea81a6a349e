from pathlib import Path

import pytest

from companion.practice.dropped import Dropped, sort_dropped


@pytest.fixture
def lying_about(tmp_path):
    def make(*names):
        for name in names:
            path = tmp_path / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(b"MThd")
        return [str(tmp_path / name) for name in names]

    return make


def names(dropped):
    return dropped.score and dropped.score.name, [path.name for path in dropped.takes]


def test_midi_files_are_takes_of_the_piece_on_the_stand(lying_about):
    paths = lying_about("one.mid", "two.MIDI")
    assert names(sort_dropped(paths, piece_on_stand=True)) == (None, ["one.mid", "two.MIDI"])


def test_a_midi_file_is_a_score_while_nothing_is_on_the_stand(lying_about):
    assert names(sort_dropped(lying_about("one.mid"), piece_on_stand=False)) == ("one.mid", [])


def test_a_folder_stands_for_the_recordings_in_it(lying_about, tmp_path):
    lying_about("day/b.mid", "day/a.mid", "day/notes.txt", "day/deeper/c.mid")
    dropped = sort_dropped([tmp_path / "day"], piece_on_stand=True)
    assert names(dropped) == (None, ["a.mid", "b.mid"])
    assert dropped.sentence == ""


@pytest.mark.parametrize("name", ["empty", "named like a score.musicxml", "like a take.mid"])
def test_a_folder_without_recordings_is_told_and_nothing_is_opened(tmp_path, name):
    (tmp_path / name).mkdir()
    dropped = sort_dropped([tmp_path / name], piece_on_stand=True)
    assert dropped == Dropped(sentence=f"There are no MIDI files in the folder “{name}”.")


def test_one_of_several_scores_is_opened_and_that_is_told(lying_about):
    dropped = sort_dropped(lying_about("a.musicxml", "b.mxl"), piece_on_stand=True)
    assert names(dropped) == ("a.musicxml", [])
    assert "Only “a.musicxml” was opened" in dropped.sentence


def test_takes_dropped_with_a_score_are_left_for_later_and_that_is_told(lying_about):
    dropped = sort_dropped(lying_about("take.mid", "a.musicxml"), piece_on_stand=True)
    assert names(dropped) == ("a.musicxml", [])
    assert "by themselves" in dropped.sentence


def test_a_file_that_is_gone_is_left_to_whoever_opens_it():
    assert sort_dropped(["/nowhere/a.mxl"], piece_on_stand=True).score == Path("/nowhere/a.mxl")
