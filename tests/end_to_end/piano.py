"""A piano for the tests: a process of its own that plays into a port of the operating system.

It reads commands, one a line, and answers one line each:

- ``play FILE SPEED``   plays a standard MIDI file that much faster than written
- ``rate COUNT RATE``   plays COUNT notes (two messages each) at RATE notes a second
- ``send HEX``          sends one message at once
- ``quit``              closes the port

The answer lists the moments of sending (CLOCK_MONOTONIC, which all processes share).
"""

from __future__ import annotations

import json
import sys
import time

import rtmidi

from companion.midi.files import read_take


def main(name: str) -> None:
    out = rtmidi.MidiOut(rtmidi.API_UNIX_JACK, name=name)
    out.open_virtual_port("keys")
    print("ready", flush=True)
    for line in sys.stdin:
        command, *arguments = line.split()
        if command == "quit":
            break
        print(json.dumps(obey(out, command, arguments)), flush=True)
    out.close_port()
    out.delete()


def obey(out, command, arguments) -> list[float]:
    if command == "send":
        return send_timed(out, [(0.0, bytes.fromhex(arguments[0]))])
    if command == "rate":
        count, rate = int(arguments[0]), float(arguments[1])
        return send_timed(out, notes_at_rate(count, rate))
    if command == "play":
        speed = float(arguments[1])
        events = read_take(arguments[0]).events
        return send_timed(out, [(e.at_seconds / speed, e.message) for e in events])
    raise ValueError(command)


def notes_at_rate(count: int, rate: float):
    """Notes that carry their number in pitch and velocity, so that a lost one is told."""
    for number in range(count):
        pitch, velocity = 21 + number % 88, 1 + number % 127
        yield number / rate, bytes((0x90, pitch, velocity))
        yield number / rate, bytes((0x80, pitch, velocity))


def send_timed(out, timed) -> list[float]:
    start = time.perf_counter() + 0.01
    sent = []
    for at, message in timed:
        wait = start + at - time.perf_counter()
        if wait > 0:
            time.sleep(wait)
        out.send_message(message)
        sent.append(time.perf_counter())
    return sent


if __name__ == "__main__":
    main(sys.argv[1])
