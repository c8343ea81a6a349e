"""A pytest plugin that slows one side of the program at random, to find tests that rely on haste.

A test that reads what a thread is still working out passes on a quiet machine and fails once in a
hundred runs. Slowed threads make it fail within a few runs::

    pytest -p tests.slowed tests/desktop                   # the threads beside the window wait
    SLOWED=window pytest -p tests.slowed tests/desktop     # the window waits, the threads go ahead

``SLOWED_SEED`` draws other moments, ``SLOWED_ONE_IN`` is how many calls there are for each wait.
"""

from __future__ import annotations

import os
import random
import sys
import threading
import time
from types import FrameType

LONGEST_WAIT_SECONDS = 0.05
OWN_CODE = f"{os.sep}companion{os.sep}"

side = os.environ.get("SLOWED", "threads")
calls_for_each_wait = int(os.environ.get("SLOWED_ONE_IN", "200" if side == "threads" else "4000"))
draw = random.Random(int(os.environ.get("SLOWED_SEED", "0")))


def wait_now_and_then(frame: FrameType, event: str, _: object) -> None:
    """Wait at some calls of our own code and at some returns from it."""
    file = frame.f_code.co_filename or ""  # None while Python ends
    if event not in ("call", "return") or OWN_CODE not in file:
        return
    if draw.random() * calls_for_each_wait < 1.0:
        time.sleep(draw.random() * LONGEST_WAIT_SECONDS)


if side == "threads":
    threading.setprofile(wait_now_and_then)
else:
    sys.setprofile(wait_now_and_then)
