"""The commands about the history, as they are typed."""

from __future__ import annotations

import pytest

from companion.command_line import main
from companion.practice.opening import put_on_shelf, read_score_file
from companion.practice.packets.own_name import own_name
from companion.storage.history_file import HistoryFile
from tests.unit.practice.packets.packet_examples import SCORE_PATH, a_lesson_map
from tests.unit.storage.history_examples import a_piece, a_take


@pytest.fixture
def history(tmp_path, monkeypatch):
    """A history with one piece; the settings of whoever runs the tests are left alone."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    path = tmp_path / "history.sqlite3"
    with HistoryFile(path) as made:
        read = read_score_file(str(SCORE_PATH))
        opened = put_on_shelf(made, read)
        made.save_section_map(opened.piece.piece_id, a_lesson_map(len(read.score.measures)))
    return path


def test_a_lesson_goes_out_and_comes_in_and_results_come_back(history, tmp_path, capsys):
    there = tmp_path / "student" / "history.sqlite3"  # a new machine has none yet
    lesson, back = str(tmp_path / "a.lesson"), str(tmp_path / "back.lesson")
    given = ["packet", "export", "footbridge", lesson, "--name", "Adelheid", "--remarks", "Slowly."]
    assert main([*given, "--history", str(history)]) == 0
    assert main(["packet", "import", lesson, "--history", str(there)]) == 0
    told = capsys.readouterr().out
    assert "is on your shelf now." in told
    assert "Adelheid writes:\nSlowly." in told
    sent = ["packet", "results", "footbridge", back, "--history", str(there)]
    assert main(sent) == 1
    assert "Say your name" in capsys.readouterr().err
    assert main([*sent, "--name", "Juno"]) == 0
    with HistoryFile(there) as student:
        assert own_name(student).name == "Juno"
    assert main(["packet", "import", back, "--history", str(history)]) == 0
    assert main(["packet", "studio", "--history", str(history)]) == 0
    assert "Juno: " in capsys.readouterr().out


def test_a_report_is_written_for_a_piece_that_is_named(history, tmp_path, capsys):
    page = tmp_path / "report.html"
    assert main(["report", "foot", str(page), "--history", str(history)]) == 0
    assert "The Footbridge" in page.read_text(encoding="utf-8")
    assert main(["report", "foot", str(tmp_path / "x.doc"), "--history", str(history)]) == 1
    assert main(["report", "no such", str(page), "--history", str(history)]) == 1
    assert "There is no piece “no such” on the shelf" in capsys.readouterr().err


def test_a_history_is_merged_and_the_copy_is_named(history, tmp_path, capsys):
    other = tmp_path / "studio.sqlite3"
    with HistoryFile(other) as there:
        there.save_piece(a_piece())
        there.save_take(a_take())
    assert main(["merge", str(other), "--history", str(history)]) == 0
    assert "1 take and 1 piece came from the other history." in capsys.readouterr().out
    assert main(["merge", str(tmp_path / "gone"), "--history", str(history)]) == 1


def test_a_history_that_is_open_in_a_window_is_left_alone(history, tmp_path, capsys):
    with HistoryFile(history):
        assert main(["merge", str(tmp_path / "x"), "--history", str(history)]) == 1
    assert "open in another window" in capsys.readouterr().err


def test_a_command_without_a_history_says_so(tmp_path, capsys):
    missing = str(tmp_path / "none.sqlite3")
    assert main(["packet", "studio", "--history", missing]) == 1
    assert "There is no practice history" in capsys.readouterr().err
