"""The listener on real ports of the operating system, a separate process playing."""

import itertools
import statistics
import threading
import time

import pytest

from companion.history.model import RawEvent
from companion.midi.files import write_take
from companion.midi.listener import Listener, ListenerKind
from tests.end_to_end.conftest import start_jack
from tests.end_to_end.piano import notes_at_rate

pytestmark = pytest.mark.ports


def held_chord_study(seconds=4.0):
    """Demo music: broken chords with overlapping keys and a pedal, 20 messages a second."""
    events = []
    for number in range(int(seconds * 8)):
        at = number / 8 + 0.013 * (number % 3)
        pitch = 48 + (0, 4, 7, 12, 16, 19)[number % 6]
        events.append(RawEvent(at, bytes((0x90, pitch, 40 + number))))
        events.append(RawEvent(at + 0.2, bytes((0x80, pitch, 64))))
        if number % 4 == 0:
            events.append(RawEvent(at + 0.05, bytes((0xB0, 64, 127 if number % 8 else 0))))
    return sorted(events, key=lambda event: event.at_seconds)


def test_every_message_arrives_in_order_and_at_its_time(plug_in, listener, listen, tmp_path):
    events = held_chord_study()
    write_take(tmp_path / "study.mid", events)
    piano = plug_in()
    listen(lambda messages: listener.state.connected)
    piano.begin(f"play {tmp_path / 'study.mid'} 1")
    heard = listen(lambda messages: len(messages) == len(events))
    sent = piano.sent()
    assert [m.message for m in heard] == [e.message for e in events]
    late_ms = [(m.at_seconds - at) * 1000 for m, at in zip(heard, sent, strict=True)]
    # JACK hands messages over once a period (1.3 ms); the limits leave room for a busy machine.
    assert min(late_ms) > -1.0
    assert statistics.median(late_ms) < 5.0


def test_the_listener_connects_when_the_piano_is_switched_on_later(plug_in, listener, listen):
    listen(lambda messages: listener.state.kind is ListenerKind.NO_PORT and listener.ports.systems)
    piano = plug_in()
    listen(lambda messages: listener.state.connected)
    piano.do("send 903c40")
    assert listen(lambda messages: messages)[0].message == b"\x90\x3c\x40"


def test_a_cable_that_is_pulled_and_put_back(plug_in, listener, listen):
    piano = plug_in()
    listen(lambda messages: listener.state.connected)
    piano.do("send 903c40")
    listen(lambda messages: messages)
    piano.unplug()
    released = listen(lambda messages: listener.state.kind is ListenerKind.LOST)
    assert [(m.message, m.from_instrument) for m in released] == [(b"\x80\x3c\x40", False)]
    again = plug_in()
    listen(lambda messages: listener.state.connected)
    again.do("send 904048")
    assert listen(lambda messages: messages)[0].message == b"\x90\x40\x48"


def test_a_midi_server_that_ends_and_starts_again(jack_server, plug_in, listen, monkeypatch):
    name = f"{jack_server}-again"
    monkeypatch.setenv("JACK_DEFAULT_SERVER", name)
    first = start_jack(name, synchronous=False)
    listener = Listener()
    try:
        plug_in()
        listen(lambda messages: listener.state.connected, listener)
        first.terminate()
        first.wait(10)
        listen(lambda messages: listener.state.kind is ListenerKind.NO_MIDI_SYSTEM, listener)
        second = start_jack(name, synchronous=False)
        piano = plug_in()
        listen(lambda messages: listener.state.connected, listener)
        piano.do("send 903c40")
        assert listen(lambda messages: messages, listener)
    finally:
        listener.close()
        piano.switch_off()
        second.terminate()
        second.wait(10)


def test_clock_and_active_sensing_do_not_disturb_the_times(plug_in, listener, listen):
    piano = plug_in()
    listen(lambda messages: listener.state.connected)
    sent: list[float] = []
    for number in range(10):
        sent += piano.do(f"send 90{60 + number:x}40")
        for _ in range(3):
            piano.do("send f8")
        piano.do("send fe")
    heard = listen(lambda messages: len(messages) == 10)
    gaps = [b - a for a, b in itertools.pairwise(sent)]
    found = [b.at_seconds - a.at_seconds for a, b in itertools.pairwise(heard)]
    off_ms = [abs(a - b) * 1000 for a, b in zip(found, gaps, strict=True)]
    assert statistics.median(off_ms) < 5.0  # single ones may be late on a busy machine


def test_active_sensing_that_stops_releases_the_keys(plug_in, listener, listen):
    piano = plug_in()
    listen(lambda messages: listener.state.connected)
    piano.do("send fe")
    piano.do("send 903c40")
    messages = listen(lambda messages: len(messages) == 2)
    assert messages[1].message == b"\x80\x3c\x40"
    assert messages[1].at_seconds - messages[0].at_seconds > 0.3


def test_nothing_is_lost_at_500_notes_a_second_while_the_program_is_busy(plug_in, listener, listen):
    count = 3000
    piano = plug_in()
    listen(lambda messages: listener.state.connected)
    stop = threading.Event()

    def hold_the_interpreter():
        while not stop.is_set():
            sorted(range(2_000_000), key=lambda n: -n)  # holds the lock for tenths of a second
            time.sleep(0.3)

    busy = threading.Thread(target=hold_the_interpreter)
    busy.start()
    try:
        piano.begin(f"rate {count} 500")
        heard = listen(lambda messages: len(messages) == 2 * count)
    finally:
        stop.set()
        busy.join()
    assert [m.message for m in heard] == [message for _, message in notes_at_rate(count, 500)]
    assert piano.sent()
