"""Plays into a history until it is killed: the child process of ``test_killed_while_playing``.

Usage: one_who_is_killed.py HISTORY LOG SEED. Each event is played for real, at random moments, and
written to LOG, with the monotonic clock, right after it was handed over.
"""

from __future__ import annotations

import os
import random
import sys
import time
from pathlib import Path

from companion.midi.listener import TimedMessage
from companion.practice.sitting import Sitting, SittingEvents
from companion.storage.history_file import HistoryFile
from companion.storage.journal import Journal


def main() -> None:
    history = HistoryFile(Path(sys.argv[1]))
    journal = Journal(history)
    log = os.open(sys.argv[2], os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    rng = random.Random(int(sys.argv[3]))
    sitting = Sitting(SittingEvents(), journal=journal, zone="Europe/Berlin", silence_seconds=1.0)
    sitting.put_on_stand("piece")
    while True:
        pitch = rng.randrange(21, 109)
        for status, velocity in ((0x90, rng.randrange(1, 128)), (0x80, 64)):
            time.sleep(rng.expovariate(60.0))
            now = time.monotonic()
            sitting.hear(TimedMessage(now, bytes((status, pitch, velocity))))
            os.write(log, f"{now!r} {status} {pitch} {velocity}\n".encode())
        if rng.random() < 0.01:
            sitting.finish()


if __name__ == "__main__":
    main()
