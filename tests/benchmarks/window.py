"""Is the window quick? Start, opening of a long score, and the way from the port to the paint.

Run it from the top of the checkout, with nothing else busy on the machine::

    python tests/benchmarks/window.py [start] [opening] [port] [demo] [--notes 1000] [--runs 9]

On a machine that does other work too, wall time says little: so the processor time stands beside
it, and of several runs the median and the fastest third.

It starts an X server (Xvfb) and a JACK server of its own, and gives the program folders of its own.

- *start*: from the start of the process to the first painting of the score, with a cached score,
  beside the same for a bare Qt window (the reference; the ratio of the two is printed); then until
  all that was not seen is built too, and the longest time this held the event loop up.
- *opening*: a score of 9,000 notes that the program has never seen: first page painted, score read
  and on the stand, form found, all there, and the longest time for which the event loop did not
  come round until then.
  Each gap between two beats of the loop is told apart: processor time of the window's thread, of
  the other threads of the process (they share Python's lock), and waiting for the machine.
- *port*: notes at 20 a second into a real port with the same score open, from the moment of sending
  in another process to the end of the paint event that shows the mark.
- *demo*: the same on a sample score, while the demo takes of a first start are being worked out.
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

JACK = f"companion-window-{os.getpid()}"
RUNS_OF_START = 9


def main() -> None:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("what", nargs="*", default=["start", "opening", "port"])
    arguments.add_argument("--notes", type=int, default=1000)
    arguments.add_argument("--runs", type=int, default=RUNS_OF_START)
    arguments.add_argument("--long", type=int, default=9_000, help="notes of the long score")
    arguments.add_argument("--stacks", action="store_true", help="print what ran in long gaps")
    arguments.add_argument("--inside", help=argparse.SUPPRESS)
    arguments.add_argument("--home", help=argparse.SUPPRESS)
    chosen = arguments.parse_args()
    if chosen.inside:
        inside(chosen.inside, Path(chosen.home), chosen.notes, chosen.long, stacks=chosen.stacks)
        return
    more = ("--long", str(chosen.long), *(("--stacks",) if chosen.stacks else ()))
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # a second start finds its modules compiled
    screen, display = start_screen()
    os.environ |= {"DISPLAY": display, "QT_QPA_PLATFORM": "xcb"}
    try:
        with tempfile.TemporaryDirectory() as home:
            if "start" in chosen.what:
                measure_start(home, chosen.runs)
            if "opening" in chosen.what:
                print_answer("opening", run_inside("opening", home, more=more))
            if "port" in chosen.what:
                measure_port("port", "port to paint, long score", home, chosen.notes, more)
            if "demo" in chosen.what:
                with tempfile.TemporaryDirectory() as fresh:
                    title = "port to paint while demo takes are worked out"
                    measure_port("demo", title, fresh, chosen.notes, more)
    finally:
        screen.terminate()
        screen.wait(10)


def start_screen() -> tuple[subprocess.Popen[bytes], str]:
    """Start an X server on a display that is free, which it says itself."""
    read_end, write_end = os.pipe()
    screen = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write_end), "-screen", "0", "1920x1080x24"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, pass_fds=(write_end,),
    )  # fmt: skip
    os.close(write_end)
    with os.fdopen(read_end) as answer:
        return screen, f":{answer.readline().strip()}"


def run_inside(
    what: str, home: str, notes: int = 0, more: tuple[str, ...] = ()
) -> dict[str, float]:
    began = time.perf_counter()
    answer = subprocess.run(
        [sys.executable, __file__, "--inside", what, "--home", home, "--notes", str(notes), *more],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if "--stacks" in more:
        print(answer.stderr)
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


def measure_start(home: str, runs: int) -> None:
    run_inside("first_start", home)  # reads and engraves the sample, so that it is in the cache
    run_inside("start", home)  # everything is compiled and in the file cache from here on
    bare, ours = [], []
    for _ in range(runs):  # in turns, so that both meet the same machine
        bare.append(run_inside("bare", home))
        ours.append(run_inside("start", home))
    print(f"start with a cached score, seconds from the start of the process, {runs} runs")
    load = " ".join(f"{value:.1f}" for value in os.getloadavg())
    print(f"  load of the machine {load} on {os.cpu_count()} processors")
    for title, name in (("first painting", "painted_at"), ("  processor time", "busy_seconds")):
        of_ours, of_bare = (middle_and_best(name, answers) for answers in (ours, bare))
        print(
            f"  {title:<16} median {of_ours[0]:.3f}, fastest third {of_ours[1]:.3f}"
            f" | bare Qt window {of_bare[0]:.3f}, {of_bare[1]:.3f}"
            f" | ratio {of_ours[0] / of_bare[0]:.2f}, {of_ours[1] / of_bare[1]:.2f}"
        )
    for title, name in (
        ("all parts built", "built_at"),
        ("longest step ms", "longest_step_ms"),
        ("  of it busy ms", "longest_step_busy_ms"),
    ):
        of_ours = middle_and_best(name, ours)
        print(f"  {title:<16} median {of_ours[0]:.3f}, fastest third {of_ours[1]:.3f}")


def middle_and_best(name: str, answers: list[dict[str, float]]) -> tuple[float, float]:
    """Median, and mean of the fastest third."""
    values = sorted(answer[name] for answer in answers)
    third = values[: max(1, len(values) // 3)]
    return values[len(values) // 2], sum(third) / len(third)


def measure_port(what: str, title: str, home: str, notes: int, more: tuple[str, ...]) -> None:
    os.environ |= {"JACK_DEFAULT_SERVER": JACK, "JACK_NO_START_SERVER": "1"}
    server = subprocess.Popen(
        ["jackd", "-n", JACK, "-r", "-S", "-d", "dummy", "-r", "48000", "-p", "64"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        subprocess.run(["jack_wait", "-s", JACK, "-w", "-t", "15"], check=False,
                       stdout=subprocess.DEVNULL)  # fmt: skip
        print_answer(title, run_inside(what, home, notes, more))
    finally:
        server.terminate()
        server.wait(10)


# What runs in the process that is measured


def inside(what: str, home: Path, notes: int, long: int, *, stacks: bool) -> None:
    if what == "bare":
        bare_window()
        return
    from companion.command_line import prepare_for_window

    prepare_for_window()
    from tests.benchmarks.window_inside import Watched

    watched = Watched(home, long, stacks=stacks)
    if what in ("first_start", "start"):
        watched.start(wait_for_all=what == "first_start")
    elif what == "opening":
        watched.open_long_score()
    elif what == "demo":
        watched.hear_notes_beside_demo_takes(notes)
    else:
        watched.hear_notes(notes)


def bare_window() -> None:
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication, QWidget

    class Bare(QWidget):
        def paintEvent(self, _event) -> None:
            QTimer.singleShot(0, self.told)

        def told(self) -> None:
            answer = {"painted_at": time.perf_counter(), "busy_seconds": time.process_time()}
            print(json.dumps(answer), flush=True)
            QApplication.quit()

    application = QApplication([])
    window = Bare()
    window.resize(1280, 800)
    window.show()
    application.exec()


if __name__ == "__main__":
    main()
