"""The promise of the journal, for real: another process plays and is killed with SIGKILL."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from companion.errors import HistoryInUse
from companion.history.model import RawEvent
from companion.storage.history_file import HistoryFile
from tests.unit.storage import one_who_is_killed
from tests.unit.storage.history_examples import a_piece

PROMISED_SECONDS = 0.25
REPOSITORY = Path(__file__).parents[3]


def played_according_to(log: Path) -> list[tuple[float, bytes]]:
    """Moments and messages that the child had handed over; a half-written line was not."""
    lines = log.read_text().split("\n")[:-1] if log.exists() else []
    played = []
    for line in lines:
        moment, status, pitch, velocity = line.split()
        played.append((float(moment), bytes((int(status), int(pitch), int(velocity)))))
    return played


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL on this system")
@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5])
def test_a_killed_program_loses_at_most_the_last_quarter_of_a_second(tmp_path, seed):
    path, log = tmp_path / "history.sqlite3", tmp_path / "log"
    with HistoryFile(path) as history:
        history.save_piece(a_piece())
    child = subprocess.Popen(
        [sys.executable, one_who_is_killed.__file__, str(path), str(log), str(seed)],
        env={**os.environ, "PYTHONPATH": str(REPOSITORY)},
    )
    try:
        while not played_according_to(log):  # until it plays
            assert child.poll() is None
            time.sleep(0.005)
        with pytest.raises(HistoryInUse):  # a second window would record each note twice
            HistoryFile(path)
        time.sleep(random.Random(seed).uniform(0.3, 1.5))
        killed_at = time.monotonic()
    finally:
        child.kill()
        child.wait()
    played = played_according_to(log)

    with HistoryFile(path) as history:  # the lock died with the process
        recovered = history.recover_open_takes()
        takes = [history.take(take.take_id) for take in reversed(history.takes_of("piece"))]
    kept = [event for take in takes for event in take.events]

    # One event may be in the history and not in the log: killed between the two.
    messages = [message for _, message in played]
    assert [event.message for event in kept[: len(messages)]] == messages[: len(kept)]
    assert len(kept) <= len(messages) + 1
    lost = [moment for moment, _ in played[len(kept) :]]
    assert all(killed_at - moment <= PROMISED_SECONDS for moment in lost), (
        f"lost {len(lost)} events, the oldest {killed_at - lost[0]:.3f} s before the end"
    )
    assert len(recovered) <= 1
    assert all(take.recovered == (take in recovered) for take in takes)
    for take in takes:
        assert_times_are_those_of(take.events, [m for m, _ in played])


def assert_times_are_those_of(events: tuple[RawEvent, ...], moments: list[float]) -> None:
    """The seconds inside a take are differences of the moments at which it was played."""
    differences = {round(moment - start, 6) for start in moments for moment in moments}
    known = [event for event in events if round(event.at_seconds, 6) in differences]
    assert len(known) >= len(events) - 1  # the last one may be missing in the log
