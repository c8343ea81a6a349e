"""Is the window quick? Start, opening of a long score, and the way from the port to the paint.

Run it from the top of the checkout, with nothing else busy on the machine::

    python tests/benchmarks/window.py [start] [opening] [port] [--notes 1000]

It starts an X server (Xvfb) and a JACK server of its own, and gives the program folders of its own.

- *start*: from the start of the process to the first painting of the score, with a cached score,
  beside the same for a bare Qt window (the reference; the ratio of the two is printed).
- *opening*: a score of 9,000 notes that the program has never seen: first page painted, all pages,
  and the longest time for which the event loop did not come round while it was loading.
- *port*: notes at 20 a second into a real port with the same score open, from the moment of sending
  in another process to the end of the paint event that shows the mark.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

DISPLAY = ":97"
JACK = f"companion-window-{os.getpid()}"
RUNS_OF_START = 7


def main() -> None:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("what", nargs="*", default=["start", "opening", "port"])
    arguments.add_argument("--notes", type=int, default=1000)
    arguments.add_argument("--inside", help=argparse.SUPPRESS)
    arguments.add_argument("--home", help=argparse.SUPPRESS)
    chosen = arguments.parse_args()
    if chosen.inside:
        inside(chosen.inside, Path(chosen.home), chosen.notes)
        return
    screen = subprocess.Popen(
        ["Xvfb", DISPLAY, "-screen", "0", "1920x1080x24"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    time.sleep(1.0)
    os.environ |= {"DISPLAY": DISPLAY, "QT_QPA_PLATFORM": "xcb"}
    try:
        with tempfile.TemporaryDirectory() as home:
            if "start" in chosen.what:
                measure_start(home)
            if "opening" in chosen.what:
                print_answer("opening", run_inside("opening", home))
            if "port" in chosen.what:
                measure_port(home, chosen.notes)
    finally:
        screen.terminate()
        screen.wait(10)


def run_inside(what: str, home: str, notes: int = 0) -> dict[str, float]:
    began = time.perf_counter()
    answer = subprocess.run(
        [sys.executable, __file__, "--inside", what, "--home", home, "--notes", str(notes)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    lines = [line for line in answer.stdout.splitlines() if line.startswith("{")]
    if not lines:
        raise SystemExit(answer.stdout + answer.stderr)
    values: dict[str, float] = json.loads(lines[-1])
    return {
        name: value - began if name.endswith("_at") else value for name, value in values.items()
    }


def print_answer(title: str, values: dict[str, float]) -> None:
    print(title)
    for name, value in values.items():
        print(f"  {name.removesuffix('_at').replace('_', ' ')}: {value:.3f}")


def measure_start(home: str) -> None:
    run_inside("first_start", home)  # reads and engraves the sample, so that it is in the cache
    bare = sorted(run_inside("bare", home)["painted_at"] for _ in range(RUNS_OF_START))
    ours = [run_inside("start", home) for _ in range(RUNS_OF_START)]
    painted = sorted(run["painted_at"] for run in ours)
    print("start with a cached score, seconds from the start of the process")
    print(f"  first painting: median {painted[RUNS_OF_START // 2]:.3f}, slowest {painted[-1]:.3f}")
    print(f"  bare Qt window: median {bare[RUNS_OF_START // 2]:.3f}")
    print(f"  ratio {painted[RUNS_OF_START // 2] / bare[RUNS_OF_START // 2]:.2f}")


def measure_port(home: str, notes: int) -> None:
    os.environ |= {"JACK_DEFAULT_SERVER": JACK, "JACK_NO_START_SERVER": "1"}
    server = subprocess.Popen(
        ["jackd", "-n", JACK, "-r", "-S", "-d", "dummy", "-r", "48000", "-p", "64"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        subprocess.run(["jack_wait", "-s", JACK, "-w", "-t", "15"], check=False,
                       stdout=subprocess.DEVNULL)  # fmt: skip
        print_answer("port to paint", run_inside("port", home, notes))
    finally:
        server.terminate()
        server.wait(10)


# What runs in the process that is measured


def inside(what: str, home: Path, notes: int) -> None:
    if what == "bare":
        bare_window()
        return
    from tests.benchmarks.window_inside import Watched

    watched = Watched(home)
    if what in ("first_start", "start"):
        watched.start(wait_for_all=what == "first_start")
    elif what == "opening":
        watched.open_long_score()
    else:
        watched.hear_notes(notes)


def bare_window() -> None:
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication, QWidget

    class Bare(QWidget):
        def paintEvent(self, _event) -> None:
            QTimer.singleShot(0, self.told)

        def told(self) -> None:
            print(json.dumps({"painted_at": time.perf_counter()}), flush=True)
            QApplication.quit()

    application = QApplication([])
    window = Bare()
    window.resize(1280, 800)
    window.show()
    application.exec()


if __name__ == "__main__":
    main()
