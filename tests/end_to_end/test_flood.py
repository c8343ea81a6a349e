"""An instrument that sends as fast as the port takes it, into the running program."""

import time

import pytest
from PySide6.QtCore import QEvent, QTimer

from companion.midi.listener import FLOOD_MESSAGES_PER_SECOND, Listener
from companion.midi.ports import PortProbe
from companion.resources import sample_scores_folder

pytestmark = pytest.mark.ports

NOTES = 10_000  # two messages each
AS_FAST_AS_IT_GOES = 1_000_000  # a second: none is waited for
FEWEST_TURNS = 3  # of the event loop; a quiet machine makes hundreds
LONG_MS = 120_000  # for worker processes on a busy machine; never waited for where all is well


@pytest.fixture
def program(qapp, jack_server, tmp_path, qtbot):
    from companion.app import Companion, Places

    places = Places(
        settings=tmp_path / "settings.toml",
        history=tmp_path / "history.sqlite3",
        cache=tmp_path / "cache",
    )
    companion = Companion(qapp, places, Listener(PortProbe()))
    companion.start(str(sample_scores_folder() / "the_footbridge.musicxml"))
    qtbot.waitUntil(lambda: companion.stand.score is not None, timeout=LONG_MS)
    companion.spare_time.finish()
    yield companion
    companion.end()
    companion.window.deleteLater()
    companion.deleteLater()
    qapp.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def test_a_flood_is_told_and_kept_whole_and_the_window_goes_on(program, plug_in, qtbot):
    piano, listener = plug_in(), program.piano.listener
    qtbot.waitUntil(lambda: listener.state.connected, timeout=LONG_MS)
    beats, told, finished = [], [], []
    beat = QTimer(program)
    beat.timeout.connect(lambda: beats.append(time.perf_counter()))
    beat.start(10)
    panel = program.window.listener
    program.piano.state_changed.connect(lambda: told.append(panel._state.text()))
    program.piano.take_finished.connect(finished.append)
    began = time.perf_counter()
    piano.begin(f"rate {NOTES} {AS_FAST_AS_IT_GOES}")
    qtbot.waitUntil(lambda: sum(take.note_count for take in finished) >= NOTES, timeout=LONG_MS)
    assert sum(take.note_count for take in finished) == NOTES
    messages_per_second = 2 * NOTES / (time.perf_counter() - began)
    assert (
        any("Far more arrives than can be played" in text for text in told)
        or messages_per_second < FLOOD_MESSAGES_PER_SECOND  # a machine that is slower than that
    )
    assert len(beats) > FEWEST_TURNS
    program.further.journal.close()
    kept = [program.history.take(take.take_id) for take in finished]
    assert sum(len(take.events) for take in kept) == 2 * NOTES
