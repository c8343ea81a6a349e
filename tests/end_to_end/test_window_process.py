"""The window as a process of its own, asked to end while somebody plays a real port."""

import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from companion.history.model import TakeSource
from companion.resources import sample_scores_folder
from companion.storage.history_file import HistoryFile
from companion.storage.packing import unpack_events
from tests.end_to_end.conftest import PATIENCE_SECONDS, ROOT

pytestmark = pytest.mark.ports

SCORE = sample_scores_folder() / "the_footbridge.musicxml"
SLOW_START = 4 * PATIENCE_SECONDS  # the first start reads and engraves the score


@pytest.fixture
def homes(tmp_path):
    """Places of a person who has never started the program."""
    return {f"XDG_{kind}_HOME": str(tmp_path / kind) for kind in ("DATA", "CONFIG", "CACHE")}


@pytest.fixture
def complaints(tmp_path):
    """What the program writes to its terminal."""
    return tmp_path / "standard error"


@pytest.fixture
def window(jack_server, homes, complaints):
    with complaints.open("wb") as terminal:
        process = subprocess.Popen(
            [sys.executable, "-m", "companion", str(SCORE)],
            env=os.environ
            | homes
            | {"PYTHONPATH": str(ROOT), "QT_QPA_PLATFORM": "offscreen", "OMP_NUM_THREADS": "1"},
            stderr=terminal,
        )
    yield process
    if process.poll() is None:
        process.kill()
        process.wait(10)


@pytest.fixture
def history_path(homes):
    return Path(homes["XDG_DATA_HOME"]) / "companion-at-the-piano" / "history.sqlite3"


def events_on_disk(path):
    """Bytes of what was played, as other programs see it in the history now."""
    try:
        with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as reader:
            row = reader.execute(
                "SELECT coalesce(sum(length(events)), 0) FROM take_events JOIN takes"
                " USING (take_id) WHERE source = ?",
                (TakeSource.PIANO.value,),  # not the demo data of the sample
            )
            return row.fetchone()[0]
    except sqlite3.Error:
        return 0


def events_of_running_take(path):
    """Events on the disk of the take that runs now; 0 until it runs on the piece of the window.

    A take that was begun before the score lay on the stand is closed when it is laid there, and
    then none is open for a moment.
    """
    try:
        with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as reader:
            rows = reader.execute(
                "SELECT events FROM take_events JOIN takes USING (take_id)"
                " WHERE source = ? AND state = 'open' AND piece_id IS NOT NULL",
                (TakeSource.PIANO.value,),
            )
            return sum(len(unpack_events(packed)) for (packed,) in rows)
    except sqlite3.Error:
        return 0


def play_until(piano, condition):
    give_up, struck = time.monotonic() + SLOW_START, 0
    while not condition():
        assert time.monotonic() < give_up
        piano.do(f"send 90{60 + struck % 12:02x}50")
        piano.do(f"send 80{60 + struck % 12:02x}40")
        struck += 1
        time.sleep(0.05)


@pytest.mark.parametrize("asked", [signal.SIGTERM, signal.SIGINT])
def test_ending_the_program_in_the_middle_of_a_take_keeps_it_whole(
    window, plug_in, history_path, complaints, asked
):
    piano = plug_in()
    play_until(piano, lambda: events_on_disk(history_path) > 0)
    piano.do("rate 40 200")
    before = events_on_disk(history_path)
    play_until(piano, lambda: events_on_disk(history_path) > before)
    window.send_signal(asked)
    assert window.wait(PATIENCE_SECONDS) == 0
    assert complaints.read_text() == ""  # Qt has something to say where it is taken apart wrongly
    with HistoryFile(history_path) as history:
        assert history.recover_open_takes() == ()  # it was closed, not cut off
        every = [history.take(take_id) for take_id in history.take_ids()]
        takes = [take for take in every if take.source is TakeSource.PIANO]  # not the demo data
        assert sum(take.note_count for take in takes) > 40
        assert not any(take.recovered for take in takes)


def test_a_killed_window_finds_what_was_played_at_the_next_start(window, plug_in, history_path):
    piano = plug_in()
    play_until(piano, lambda: events_of_running_take(history_path) >= 110)
    window.kill()
    window.wait(PATIENCE_SECONDS)
    with HistoryFile(history_path) as history:
        (take,) = history.recover_open_takes()
        assert take.recovered
        assert take.note_count >= 50
