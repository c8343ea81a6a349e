"""A pytest plugin that slows one side of the program at random: waits in its threads, or in the window's.

A test that only passes because a thread is usually quick fails here, on a quiet machine, within one run.

    pytest -p tests.slowed tests/desktop          # SLOWED=threads (as given) or SLOWED=window
"""

from __future__ import annotations

import os
import random
import sys
import threading
import time

SLOWED = os.environ.get("SLOWED", "threads")
SEED = int(os.environ.get("SLOWED_SEED", "0"))
ONE_CALL_IN = int(os.environ.get("SLOWED_ONE_IN", "200"))
LONGEST_SECONDS = 0.05
OWN = f"{os.sep}companion{os.sep}"
draw = random.Random(SEED)


def _now_and_then(frame, event, argument) -> None:
    if event in ("call", "return") and OWN in frame.f_code.co_filename:
        if draw.random() * ONE_CALL_IN < 1:
            time.sleep(draw.random() * LONGEST_SECONDS)


if SLOWED == "threads":
    threading.setprofile(_now_and_then)
else:
    sys.setprofile(_now_and_then)
