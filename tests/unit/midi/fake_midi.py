"""A MIDI system in memory with a clock that is set by hand."""

from companion.errors import PortUnavailable
from companion.midi.systems import Received


class Clock:
    def __init__(self):
        self.seconds = 1000.0

    def __call__(self):
        return self.seconds


class FakeInput:
    def __init__(self, system, name):
        self._system = system
        self.name = name
        self.waiting = []
        self._last = None
        self.closed = False

    def send(self, message):
        now = self._system.clock()
        delta = 0.0 if self._last is None else now - self._last
        self._last = now
        self.waiting.append(Received(bytes(message), delta))

    def next_message(self):
        return self.waiting.pop(0) if self.waiting and not self.closed else None

    def close(self):
        self.closed = True


class FakeSystem:
    """Has the ports that a test gives it, is not there, or is busy."""

    def __init__(self, clock, *ports, key="alsa", name="ALSA"):
        self.clock = clock
        self.key = key
        self.name = name
        self.ports = list(ports)
        self.usable = True
        self.busy = set()
        self.opened = []

    def input_names(self):
        return tuple(self.ports) if self.usable else None

    output_names = input_names

    def open_input(self, name, ordinal=0):
        if name in self.busy or name not in self.ports:
            raise PortUnavailable(f"“{name}” cannot be opened.")
        self.opened.append(FakeInput(self, name))
        return self.opened[-1]

    def open_output(self, name, ordinal=0):
        raise PortUnavailable("not in this test")

    def look_afresh(self):
        pass
