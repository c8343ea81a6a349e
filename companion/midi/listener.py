"""Listens to the piano: connects by itself, and hands out what was played with exact times.

Conventions
-----------
- No thread and no callback of our own: whoever owns the :class:`Listener` calls
  :meth:`Listener.drain` every few milliseconds (2 ms in the window) from one thread.
- Times are seconds on the ``clock`` given, a monotonic one; see :mod:`companion.midi.arrival`.
- Messages are handed out as the piano sent them, except that a note-on with velocity 0 becomes the
  note-off that it stands for, and that clock, active sensing and system messages are left out.
- When the piano goes, the keys and pedals that were down are released by messages of our own
  (``from_instrument`` False), so that nothing hangs.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from enum import StrEnum

from companion.errors import PortUnavailable
from companion.midi.arrival import ArrivalClock
from companion.midi.held import HeldKeys
from companion.midi.ports import (
    NO_SYSTEM_SENTENCE,
    MidiPort,
    PortList,
    PortProbe,
    most_likely_piano,
)
from companion.midi.systems import OpenInput

ACTIVE_SENSING = 0xFE
ACTIVE_SENSING_SECONDS = 0.3
"""MIDI 1.0, active sensing: once it was received, 300 ms without any message is a lost line."""

MAX_MESSAGES_PER_DRAIN = 1000
"""Bound of the work of one call; what is left stays in rtmidi's queue for the next."""

FLOOD_MESSAGES_PER_SECOND = 1500
"""Above what a MIDI cable can carry: 31,250 bit/s are 1042 three-byte messages a second."""

_RELEASE_VELOCITY = 64  # MIDI 1.0: what to take for a note-on with velocity 0
# Seldomer, and a piano that is switched off and on at once seems never to have gone: its port has
# the same name, and nothing arrives through the old input. A look takes 1 ms.
_LOOK_AGAIN_SECONDS = 0.1
_LOOK_WHILE_PLAYING_SECONDS = 0.4
_STILL_PLAYING_SECONDS = 1.0
_UNTIL_READY_SECONDS = 0.1
_LOOK_FOR_SYSTEM_SECONDS = 5.0  # making a client of a system that is not there is slow
_RETRY_BUSY_SECONDS = 2.0
_QUIET_BEFORE_SWITCH_SECONDS = 10.0


class ListenerKind(StrEnum):
    """How the connection to the piano stands."""

    NO_MIDI_SYSTEM = "no_midi_system"
    NO_PORT = "no_port"
    CONNECTING = "connecting"
    CONNECTED = "connected"
    LOST = "lost"
    PORT_BUSY = "port_busy"


@dataclass(frozen=True, slots=True, kw_only=True)
class ListenerState:
    """The connection, for showing: a sentence for the person and what it is about.

    ``system`` is the key of the chosen MIDI system, None for all; ``flood`` tells that far more
    arrives than can be played (nothing is lost, but something is wrong with the instrument).
    ``ports`` are all that can be chosen from, so that a port that comes or goes changes the state.
    """

    kind: ListenerKind
    sentence: str
    port: MidiPort | None = None
    system: str | None = None
    flood: bool = False
    ports: PortList = field(default_factory=PortList)

    @property
    def connected(self) -> bool:
        """Whether notes can arrive now."""
        return self.kind is ListenerKind.CONNECTED


@dataclass(frozen=True, slots=True)
class TimedMessage:
    """A MIDI channel message and when it arrived, in seconds on the listener's clock."""

    at_seconds: float
    message: bytes
    from_instrument: bool = True


class _Line:
    """One open input with its clock."""

    def __init__(self, port: MidiPort, opened: OpenInput, now_seconds: float) -> None:
        self.port = port
        self.last_heard_seconds: float | None = None
        self.senses_actively = False
        self.seen_empty_seconds = now_seconds
        self._opened = opened
        self._clock = ArrivalClock()

    def take(self, clock: Callable[[], float], most: int) -> list[TimedMessage]:
        """Everything that waits, at most ``most`` messages."""
        waiting_since = self.seen_empty_seconds
        messages: list[bytes] = []
        taken: list[tuple[float, float]] = []
        while len(taken) < most:
            before = clock()
            received = self._opened.next_message()
            if received is None:
                self.seen_empty_seconds = before
                break
            messages.append(received.message)
            taken.append((received.delta_seconds, clock()))
        if not taken:
            return []
        arrivals = self._clock.arrival_seconds(taken, seen_empty_seconds=waiting_since)
        self.last_heard_seconds = arrivals[-1]
        return [TimedMessage(at, m) for at, m in zip(arrivals, messages, strict=True)]

    @property
    def went_silent(self) -> bool:
        """Active sensing was promised and has stopped."""
        return (
            self.senses_actively
            and self.last_heard_seconds is not None
            and self.seen_empty_seconds - self.last_heard_seconds > ACTIVE_SENSING_SECONDS
        )

    def close(self) -> None:
        self._opened.close()


class Listener:
    """Owns the connection to the piano.

    Parameters
    ----------
    probe
        Looks for ports; the systems in it also open them.
    clock
        Monotonic clock in seconds.
    last_identity
        :attr:`MidiPort.identity` of the piano of the last time, preferred when it is there.
    """

    def __init__(
        self,
        probe: PortProbe | None = None,
        *,
        clock: Callable[[], float] = time.perf_counter,
        last_identity: str = "",
    ) -> None:
        self._probe = PortProbe() if probe is None else probe
        self._clock = clock
        self._last_identity = last_identity
        self._chosen: MidiPort | None = None
        self._only_system: str | None = None
        self._ports = PortList()
        self._lines: list[_Line] = []
        self._held = HeldKeys()
        self._next_look_seconds = float("-inf")
        self._next_fresh_look_seconds = float("-inf")
        self._counted_from_seconds = clock()
        self._counted = 0
        self._last_note_seconds = float("-inf")
        self._state = ListenerState(kind=ListenerKind.NO_PORT, sentence="Looking for a piano.")

    @property
    def state(self) -> ListenerState:
        """How the connection stands; compare with the one shown to see a change."""
        return self._state

    @property
    def ports(self) -> PortList:
        """The ports as last seen, for a choice."""
        return self._ports

    @property
    def last_identity(self) -> str:
        """Identity of the piano that was last heard or chosen: remember it for the next start."""
        return self._last_identity

    def drain(self) -> list[TimedMessage]:
        """Take what has arrived, and look for ports now and then; never blocks for long."""
        now = self._clock()
        messages: list[TimedMessage] = []
        if now >= self._next_look_seconds:
            messages += self._look(now)
        messages += self._receive()
        self._watch_for_floods(now, len(messages))
        return messages

    def choose_port(self, port: MidiPort | None) -> list[TimedMessage]:
        """Listen to this port from now on, or (None) to the most likely piano again.

        Returns the releases of keys that were down.
        """
        self._chosen = port
        if port is not None:
            self._last_identity = port.identity
        return self._start_over()

    def choose_system(self, key: str | None) -> list[TimedMessage]:
        """Use only the MIDI system of that key, or (None) all of them."""
        self._only_system = key
        self._chosen = None
        return self._start_over()

    def close(self) -> list[TimedMessage]:
        """Let the piano go; returns the releases of keys that were down."""
        released = self._disconnect()
        self._probe.look_afresh()
        self._next_look_seconds = float("inf")
        return released

    # ---- ports come and go

    def _look(self, now: float) -> list[TimedMessage]:
        playing = now - self._last_note_seconds < _STILL_PLAYING_SECONDS
        wait = _LOOK_WHILE_PLAYING_SECONDS if playing else _LOOK_AGAIN_SECONDS
        self._next_look_seconds = now + wait
        if not self._ports.ports and now >= self._next_fresh_look_seconds:
            self._next_fresh_look_seconds = now + _LOOK_FOR_SYSTEM_SECONDS
            self._probe.look_afresh()
        elif not self._ports.systems:
            return []
        self._ports = self._probe.inputs(self._only_system)
        released: list[TimedMessage] = []
        if self._lines:
            released = self._check_connection(now)
        else:
            self._find_piano(now)
        if self._state.ports != self._ports:
            self._state = replace(self._state, ports=self._ports)
        return released

    def _check_connection(self, now: float) -> list[TimedMessage]:
        gone = [line for line in self._lines if line.port not in self._ports.ports]
        if gone:
            return self._lose(gone[0].port, "is switched off or unplugged")
        if self._lines[0].went_silent:
            return self._lose(self._lines[0].port, "has stopped answering")
        better = self._wanted_port()
        quiet = now - self._last_note_seconds > _QUIET_BEFORE_SWITCH_SECONDS
        came_back = better is not None and better.identity == self._last_identity
        if came_back and quiet and all(line.port != better for line in self._lines):
            released = self._disconnect()
            self._find_piano(now)
            return released
        return []

    def _lose(self, port: MidiPort, what_happened: str) -> list[TimedMessage]:
        released = self._disconnect()
        self._state = self._stated(
            ListenerKind.LOST,
            f"The piano “{port.label}” {what_happened}. It is connected again by itself when it "
            "comes back.",
            port,
        )
        return released

    def _find_piano(self, now: float) -> None:
        wanted = self._wanted_port()
        if wanted is None:
            self._state = self._without_piano()
        elif self._state.kind is ListenerKind.CONNECTING and self._state.port == wanted:
            self._connect(wanted, now)
        else:
            # Opened at the next look: a port that has only just appeared is often not ready yet.
            self._state = self._stated(
                ListenerKind.CONNECTING, f"Connecting to “{wanted.label}”.", wanted
            )
            self._next_look_seconds = now + _UNTIL_READY_SECONDS

    def _wanted_port(self) -> MidiPort | None:
        if self._chosen is not None:
            same = [p for p in self._ports.ports if p.identity == self._chosen.identity]
            return same[0] if same else None
        return most_likely_piano(self._ports.ports, self._last_identity)

    def _without_piano(self) -> ListenerState:
        if self._state.kind is ListenerKind.LOST and self._ports.systems:
            return self._state
        if not self._ports.systems:
            return self._stated(ListenerKind.NO_MIDI_SYSTEM, NO_SYSTEM_SENTENCE)
        if self._chosen is not None:
            return self._stated(
                ListenerKind.NO_PORT,
                f"“{self._chosen.label}” is not there. Switch it on, or choose another port.",
            )
        return self._stated(ListenerKind.NO_PORT, self._ports.sentence)

    def _connect(self, port: MidiPort, now: float) -> None:
        try:
            self._lines = [self._opened(port)]
        except PortUnavailable as error:
            self._state = self._stated(ListenerKind.PORT_BUSY, str(error), port)
            self._next_look_seconds = now + _RETRY_BUSY_SECONDS
            return
        if self._chosen is None:
            self._open_twins(port)
        self._state = self._stated(ListenerKind.CONNECTED, f"Listening to “{port.label}”.", port)

    def _open_twins(self, port: MidiPort) -> None:
        """Open the other ports of the same instrument: which one sends the keys is not known."""
        for twin in self._ports.ports:
            if twin.device == port.device and twin != port:
                try:
                    self._lines.append(self._opened(twin))
                except PortUnavailable:
                    continue

    def _opened(self, port: MidiPort) -> _Line:
        system = self._probe.system(port.system)
        return _Line(port, system.open_input(port.name, port.ordinal), self._clock())

    def _disconnect(self) -> list[TimedMessage]:
        lines, self._lines = self._lines, []
        for line in lines:
            line.close()
        now = self._clock()
        return [TimedMessage(now, message, False) for message in self._held.release_all()]

    def _start_over(self) -> list[TimedMessage]:
        released = self._disconnect()
        self._next_look_seconds = self._next_fresh_look_seconds = float("-inf")
        self._state = self._stated(ListenerKind.NO_PORT, "Looking for a piano.")
        return released

    def _stated(
        self, kind: ListenerKind, sentence: str, port: MidiPort | None = None
    ) -> ListenerState:
        return ListenerState(
            kind=kind,
            sentence=sentence,
            port=port,
            system=self._only_system,
            flood=self._state.flood,
            ports=self._ports,
        )

    # ---- messages

    def _receive(self) -> list[TimedMessage]:
        if not self._lines:
            return []
        heard = [line.take(self._clock, MAX_MESSAGES_PER_DRAIN) for line in self._lines]
        if len(self._lines) > 1:
            heard = [self._settle_on_one_line(heard)]
        line = self._lines[0]
        messages: list[TimedMessage] = []
        for timed in heard[0]:
            if timed.message[0] == ACTIVE_SENSING:
                line.senses_actively = True
            played = channel_message(timed.message)
            if played is not None:
                self._held.hear(played)
                messages.append(replace(timed, message=played))
        if any(m.message[0] & 0xF0 == 0x90 for m in messages):
            self._last_note_seconds = messages[-1].at_seconds
            self._last_identity = line.port.identity
        if line.went_silent and self._held.any_down:
            now = self._clock()
            messages += [TimedMessage(now, off, False) for off in self._held.release_all()]
        return messages

    def _settle_on_one_line(self, heard: list[list[TimedMessage]]) -> list[TimedMessage]:
        """Keep the twin on which the first note arrives and close the others.

        Instruments with two ports often send everything on both. Until a note has come, only the
        first line is listened to for pedals.
        """
        for line, messages in zip(self._lines, heard, strict=True):
            if any(m.message[0] & 0xF0 == 0x90 and m.message[-1] > 0 for m in messages):
                for other in self._lines:
                    if other is not line:
                        other.close()
                self._lines = [line]
                self._state = replace(self._state, port=line.port)
                return messages
        return heard[0]

    def _watch_for_floods(self, now: float, count: int) -> None:
        self._counted += count
        elapsed = now - self._counted_from_seconds
        if elapsed >= 1.0:
            flood = self._counted / elapsed > FLOOD_MESSAGES_PER_SECOND
            if flood != self._state.flood:
                self._state = replace(self._state, flood=flood)
            self._counted_from_seconds, self._counted = now, 0


def channel_message(message: bytes) -> bytes | None:
    """Return a channel message, note-on with velocity 0 made a note-off; None for all others."""
    if len(message) < 2 or not 0x80 <= message[0] < 0xF0:
        return None
    if message[0] & 0xF0 == 0x90 and len(message) == 3 and message[2] == 0:
        return bytes((0x80 | message[0] & 0x0F, message[1], _RELEASE_VELOCITY))
    return message
