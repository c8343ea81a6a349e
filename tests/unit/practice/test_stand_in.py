"""A stand-in for a history that cannot be used, and how what was played comes home."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import textwrap
from dataclasses import replace
from pathlib import Path

import pytest

from companion.history.edits import ChangeSectionMap
from companion.history.model import TakeSource
from companion.practice.history_care import open_or_stand_in, stand_ins_folder
from companion.practice.stand_in import (
    bring_all_home,
    bring_home,
    keep_aside,
    open_stand_in,
    played_in,
    throw_away,
)
from companion.storage.history_file import HistoryFile
from companion.storage.pieces import ScoreFile
from tests.unit.storage.history_examples import (
    a_piece,
    a_section_map,
    a_take,
    some_events,
)

ROOT = Path(__file__).parents[3]


@pytest.fixture
def path(tmp_path):
    return tmp_path / "history.sqlite3"


@pytest.fixture
def cache(tmp_path):
    return tmp_path / "cache"


@pytest.fixture
def history(path):
    with HistoryFile(path) as opened:
        opened.save_piece(a_piece())
        opened.save_take(a_take("old"))
        yield opened


@pytest.fixture
def stand_in(history, path, cache):
    with open_stand_in(path, cache) as opened:
        yield opened


def test_it_begins_as_a_copy_of_a_history_that_is_in_use(stand_in):
    assert stand_in.take("old") == a_take("old")
    assert [piece.piece_id for piece in stand_in.shelf()] == ["piece"]


def test_what_is_written_in_it_leaves_the_history_alone(stand_in, history):
    stand_in.save_take(a_take("new"))
    assert history.take("new") is None
    assert [take.take_id for take in played_in(stand_in, {"old"})] == ["new"]


def test_takes_come_home_once_with_new_pieces_and_all_that_belongs_to_them(stand_in, history):
    stand_in.save_piece(a_piece("another"))
    stand_in.save_score_file("hash of another", ScoreFile("another.abc", b"X:1"))
    stand_in.apply(ChangeSectionMap("another", a_section_map(), a_section_map()))
    stand_in.save_take(a_take("new", piece_id="another", events=some_events(6)))
    stand_in.save_take(a_take("unfiled", piece_id=None, events=some_events(5)))
    for _ in range(2):
        bring_home(history, stand_in)
    assert set(history.take_ids()) == {"old", "new", "unfiled"}
    assert history.take("new").piece_id == "another"
    assert history.score_file("hash of another").content == b"X:1"
    assert history.section_map("another") == a_section_map()


def test_a_piece_that_both_have_put_on_the_shelf_is_one_piece(stand_in, history):
    history.save_piece(a_piece("at home", score_hash="same score"))
    stand_in.save_piece(a_piece("here", score_hash="same score"))
    stand_in.save_take(a_take("new", piece_id="here", events=some_events(6)))
    bring_home(history, stand_in)
    assert history.take("new").piece_id == "at home"
    assert history.piece("here") is None


def test_what_two_windows_recorded_from_one_piano_comes_home_once(stand_in, history):
    played = some_events(20)
    history.save_take(a_take("in the first window", events=played))
    shaken = tuple(replace(e, at_seconds=e.at_seconds + 0.0004) for e in played)
    stand_in.save_take(a_take("in the second window", events=shaken))
    assert bring_home(history, stand_in) == ()


def test_demo_data_stays_where_it_is(stand_in, history):
    stand_in.save_take(a_take("demo", source=TakeSource.DEMO, events=some_events(9)))
    assert bring_home(history, stand_in) == ()


def test_a_killed_window_leaves_its_takes_for_a_later_start(history, path, cache):
    program = subprocess.Popen(
        [
            sys.executable,
            "-c",
            textwrap.dedent(
                """
                import sys, time
                from pathlib import Path
                from companion.practice.stand_in import open_stand_in
                from tests.unit.storage.history_examples import a_take, some_events
                stand_in = open_stand_in(Path(sys.argv[1]), Path(sys.argv[2]))
                stand_in.save_take(a_take("whole", events=some_events(8)))
                stand_in.begin_take(a_take("cut off", events=()))
                stand_in.write_chunk("cut off", 0, some_events(11))
                print("ready", flush=True)
                time.sleep(600)
                """
            ),
            str(path),
            str(cache),
        ],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    )
    assert program.stdout.readline() == "ready\n"
    assert bring_all_home(history, cache) == ()  # it lives
    program.send_signal(signal.SIGKILL)
    program.wait(10)
    program.stdout.close()
    assert {take.take_id for take in bring_all_home(history, cache)} == {"whole", "cut off"}
    assert history.take("cut off").recovered
    assert not stand_ins_folder(path, cache).exists()


def test_takes_that_found_no_room_wait_for_a_later_start(history, path, cache):
    homeless = [a_take("one", events=some_events(8)), a_take("two", events=some_events(9))]
    keep_aside(homeless, a_piece(), path, cache)
    assert [take.take_id for take in bring_all_home(history, cache)] == ["one", "two"]
    assert history.take("two").piece_id == "piece"


def test_a_file_that_is_no_history_is_stood_in_for_by_an_empty_one(tmp_path, cache):
    other = tmp_path / "letters.sqlite3"
    other.write_text("Dear Ilse, " * 1000)
    before = other.read_bytes()
    opened = open_or_stand_in(other, cache)
    assert opened.history.take_ids() == ()
    opened.history.close()
    assert other.read_bytes() == before


def test_thrown_away_it_leaves_nothing_behind(history, path, cache):
    stand_in = open_stand_in(path, cache)
    stand_in.close()
    throw_away(stand_in.path)
    assert not (cache / "stand-ins").exists()


READ_ONLY = """
import os, sys
from pathlib import Path
import companion.practice.stand_in  # all that is imported, while everything may be read
from companion.practice.history_care import open_or_stand_in
os.seteuid(65534)  # nobody: an administrator may write everywhere
opened = open_or_stand_in(Path(sys.argv[1]), Path(sys.argv[2]))
print(opened.sentence)
print(*opened.history.take_ids())
opened.history.close()
"""


@pytest.fixture
def open_folder():
    """A folder that everybody may look into; those of pytest are its own."""
    with tempfile.TemporaryDirectory(prefix="companion-test-") as name:
        folder = Path(name)
        folder.chmod(0o755)
        yield folder


@pytest.mark.skipif(os.geteuid() != 0, reason="only an administrator can become somebody else")
@pytest.mark.parametrize("locked", ["folder", "file"])
@pytest.mark.parametrize("log", ["in the file", "beside the file"])
def test_a_read_only_history_is_shown_with_one_plain_notice(history, open_folder, locked, log):
    folder, cache = open_folder / "kept", open_folder / "cache"
    for made in (folder, cache):
        made.mkdir()
        made.chmod(0o777)
    if log == "in the file":
        history.tidy()
    for part in ("", "-wal") if log == "beside the file" else ("",):
        copied = shutil.copy(f"{history.path}{part}", folder / f"history.sqlite3{part}")
        copied.chmod(0o444)
    if locked == "folder":
        folder.chmod(0o555)
    told = subprocess.run(
        [sys.executable, "-c", READ_ONLY, str(folder / "history.sqlite3"), str(cache)],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    folder.chmod(0o755)
    assert told.stderr.count("Traceback") == 0
    sentence, takes = told.stdout.splitlines()
    assert "may only be read, not written" in sentence
    assert "What you see is a copy of it." in sentence
    assert takes == "old"
