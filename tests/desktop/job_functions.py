"""Work that the tests of jobs give to a worker process: importable there, Qt-free."""

from __future__ import annotations

import time

from companion.errors import ScoreUnreadable
from companion.progress import Progress, no_report


def double(number, report=no_report, emit=lambda value: None):
    report(Progress(done=0, total=2, doing="Doubling"))
    emit("half way")
    return 2 * number


def refuse():
    raise ScoreUnreadable("This file holds no notes.")


def stumble():
    raise ZeroDivisionError("a bug")


def work_until_cancelled(report=no_report, emit=lambda value: None):
    emit("begun")
    until = time.monotonic() + 60
    while time.monotonic() < until:
        report(Progress(done=0, total=0, doing="Working"))
        time.sleep(0.002)
