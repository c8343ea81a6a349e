"""The program without its window, for the tests: listens, makes takes, keeps them.

``python listening_program.py HISTORY SCORE`` prints one line per fact: ``connected``, ``begun ID``,
``saved ID``. It runs until it is killed or its standard input is closed.
"""

import sys
import threading
import time
from pathlib import Path

from companion.listening.follower import Follower
from companion.midi.listener import Listener
from companion.practice.opening import put_on_shelf, read_score_file
from companion.practice.sitting import Sitting, SittingEvents
from companion.storage.history_file import HistoryFile
from companion.storage.journal import Journal

SILENCE_SECONDS = 1.5


def tell(*words):
    print(*words, flush=True)


def main(history_path, score_path):
    history = HistoryFile(Path(history_path))
    opened = put_on_shelf(history, read_score_file(score_path))
    journal = Journal(history, on_saved=lambda take: tell("saved", take.take_id))
    sitting = Sitting(
        SittingEvents(on_take_begun=lambda take: tell("begun", take.take_id)),
        journal=journal,
        zone="UTC",
        silence_seconds=SILENCE_SECONDS,
    )
    notes = opened.score.notes
    sitting.put_on_stand(opened.piece.piece_id, lambda: Follower(notes))
    listener = Listener()
    closing = threading.Event()
    threading.Thread(target=lambda: (sys.stdin.read(), closing.set()), daemon=True).start()
    told = False
    while not closing.is_set():
        for message in listener.drain():
            sitting.hear(message)
        sitting.tick(time.perf_counter())
        if listener.state.connected and not told:
            told = True
            tell("connected")
        time.sleep(0.002)
    sitting.finish()
    listener.close()
    journal.close()
    history.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
