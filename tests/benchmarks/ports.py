"""Does a note get lost, and how late is it? Real JACK ports, a busy program beside the listener.

Run it from the top of the checkout::

    python tests/benchmarks/ports.py [--notes 100000] [--rate 500]

A process of its own plays numbered notes (a note-on and a note-off each); the listener is drained
every 2 ms while another thread of this process holds the interpreter lock again and again. Printed:
messages lost, and percentiles of the time from sending to the rebuilt arrival time ("stamped") and
to being handed out ("handed out", the stalls included).
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import threading
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402

from companion.midi.listener import Listener  # noqa: E402
from tests.end_to_end.conftest import Piano  # noqa: E402
from tests.end_to_end.piano import notes_at_rate  # noqa: E402

SERVER = f"companion-bench-{os.getpid()}"


def main() -> None:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--notes", type=int, default=100_000)
    arguments.add_argument("--rate", type=float, default=500.0)
    chosen = arguments.parse_args()
    os.environ["JACK_DEFAULT_SERVER"] = SERVER
    os.environ["JACK_NO_START_SERVER"] = "1"
    server = subprocess.Popen(
        ["jackd", "-n", SERVER, "-r", "-S", "-d", "dummy", "-r", "48000", "-p", "64"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        subprocess.run(["jack_wait", "-s", SERVER, "-w", "-t", "15"], check=False)
        measure(chosen.notes, chosen.rate)
    finally:
        server.terminate()
        server.wait(10)


def measure(count: int, rate: float) -> None:
    piano = Piano("Demo piano")
    listener = Listener()
    while not listener.state.connected:
        listener.drain()
        time.sleep(0.002)
    stop = threading.Event()
    stalls: list[float] = []
    busy = threading.Thread(target=hold_the_interpreter, args=(stop, stalls))
    busy.start()
    piano.begin(f"rate {count} {rate}")
    heard, handed_out, drains = [], [], []
    last = time.perf_counter()
    while len(heard) < 2 * count and time.perf_counter() - last < 5.0:
        before = time.perf_counter()
        new = listener.drain()
        now = time.perf_counter()
        drains.append(now - before)
        if new:
            last = now
        heard += new
        handed_out += [now] * len(new)
        time.sleep(0.002)
    stop.set()
    busy.join()
    expected = [message for _, message in notes_at_rate(count, rate)]
    print(f"sent {len(expected)} messages at {2 * rate:.0f}/s, lost {len(expected) - len(heard)}")
    print(f"interpreter held {len(stalls)} times, longest {max(stalls, default=0) * 1000:.0f} ms")
    if [m.message for m in heard] == expected:
        sent = np.array(piano.sent())
        tell("stamped", 1000 * (np.array([m.at_seconds for m in heard]) - sent))
        tell("handed out", 1000 * (np.array(handed_out) - sent))
    tell("one drain", 1000 * np.array(drains))
    listener.close()
    piano.switch_off()


def hold_the_interpreter(stop: threading.Event, stalls: list[float]) -> None:
    while not stop.wait(0.5):
        before = time.perf_counter()
        sorted(range(700_000), key=lambda n: -n)
        stalls.append(time.perf_counter() - before)


def tell(what: str, ms: np.ndarray) -> None:
    points = {p: np.percentile(ms, p) for p in (50, 95, 99, 99.9, 100)}
    print(f"{what:>11} ms: " + "  ".join(f"p{p:g} {v:.2f}" for p, v in points.items()))


if __name__ == "__main__":
    main()
