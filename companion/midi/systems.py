"""The door to the MIDI systems of the machine: everything that touches rtmidi is here.

Conventions
-----------
- A *system* is one of the MIDI interfaces that rtmidi was compiled for: ALSA and JACK on Linux,
  CoreMIDI on macOS, the multimedia service on Windows. Its key is rtmidi's short name.
- A machine without any usable system is a normal state: listing then says None, nothing raises.
- rtmidi's callback loses messages while another thread holds the interpreter lock (measured: 57
  notes in 0.6 s). So no callback is ever set: messages wait in rtmidi's own queue, which its C++
  thread fills, and are taken out by :meth:`OpenInput.next_message`.
- Nothing but system exclusive messages is filtered by rtmidi: its JACK side counts the time of a
  filtered message into nothing, so each filtered clock or active-sensing byte would shorten the
  times that are rebuilt from its deltas.
"""

from __future__ import annotations

import contextlib
import os
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import rtmidi

from companion.errors import PortUnavailable

CLIENT_NAME = "Companion"
"""Our name in the MIDI system; ports of this client are never offered."""

QUEUE_MESSAGES = 1 << 17
"""Room in rtmidi's queue (about 4 MB): 13 s of 10,000 messages a second while nobody drains."""

_SYSTEM_NAMES = {
    "alsa": "ALSA",
    "jack": "JACK",
    "core": "CoreMIDI",
    "winmm": "Windows MIDI",
}


@dataclass(frozen=True, slots=True)
class Received:
    """One message out of rtmidi's queue and the seconds since the message before it."""

    message: bytes
    delta_seconds: float


class OpenInput(Protocol):
    """An input that is being listened to."""

    def next_message(self) -> Received | None:
        """Take the oldest waiting message, None when none waits; never blocks."""

    def close(self) -> None:
        """Stop listening; may be called twice."""


class OpenOutput(Protocol):
    """An output that can be played to."""

    def send(self, message: bytes) -> None:
        """Send one message now."""

    def close(self) -> None:
        """Let the port go; may be called twice."""


class MidiSystem(Protocol):
    """One MIDI system of the machine."""

    @property
    def key(self) -> str:
        """Short name, "alsa"."""

    @property
    def name(self) -> str:
        """Name for a person, "ALSA"."""

    def input_names(self) -> tuple[str, ...] | None:
        """Names of all ports that can be listened to, None while the system cannot be used."""

    def output_names(self) -> tuple[str, ...] | None:
        """Names of all ports that can be played to, None while the system cannot be used."""

    def open_input(self, name: str, ordinal: int = 0) -> OpenInput:
        """Listen to the port ``name`` (the ``ordinal``-th of that name), or PortUnavailable."""

    def open_output(self, name: str, ordinal: int = 0) -> OpenOutput:
        """Open the port ``name`` for playing, or PortUnavailable."""

    def look_afresh(self) -> None:
        """Forget what was opened for looking, for instance after the MIDI server went."""


class RtMidiSystem:
    """A MIDI system through rtmidi, with its own objects for looking.

    The objects that list the ports are apart from those that listen: a port list asked from an
    open input would be tied to the life of that input.
    """

    def __init__(self, key: str, api: int) -> None:
        self.key = key
        self.name = _SYSTEM_NAMES.get(key, key)
        self._api = api
        self._in_probe: Any = None
        self._out_probe: Any = None
        self._failed = False
        self._server_sockets: frozenset[tuple[str, int]] = frozenset()

    def input_names(self) -> tuple[str, ...] | None:
        """Names of all ports that can be listened to, None while the system cannot be used."""
        if self._failed or self._server_went():
            return None
        try:
            if self._in_probe is None:
                self._in_probe = self._make(rtmidi.MidiIn)
            return tuple(self._in_probe.get_ports())
        except rtmidi.RtMidiError:
            self._failed = True
            return None

    def output_names(self) -> tuple[str, ...] | None:
        """Names of all ports that can be played to, None while the system cannot be used."""
        if self._failed or self._server_went():
            return None
        try:
            if self._out_probe is None:
                self._out_probe = self._make(rtmidi.MidiOut)
            return tuple(self._out_probe.get_ports())
        except rtmidi.RtMidiError:
            self._failed = True
            return None

    def open_input(self, name: str, ordinal: int = 0) -> OpenInput:
        """Listen to a port; raises PortUnavailable with a plain sentence."""
        midi_in: Any = None
        try:
            midi_in = self._make(rtmidi.MidiIn, queue_size_limit=QUEUE_MESSAGES)
            midi_in.ignore_types(sysex=True, timing=False, active_sense=False)
            midi_in.open_port(_index_of(name, ordinal, midi_in.get_ports()), name="listening")
        except (rtmidi.RtMidiError, ValueError) as error:
            if midi_in is not None:
                midi_in.delete()
            raise PortUnavailable(_busy_sentence(name)) from error
        return _RtMidiInput(midi_in)

    def open_output(self, name: str, ordinal: int = 0) -> OpenOutput:
        """Open a port for playing; raises PortUnavailable with a plain sentence."""
        midi_out: Any = None
        try:
            midi_out = self._make(rtmidi.MidiOut)
            midi_out.open_port(_index_of(name, ordinal, midi_out.get_ports()), name="playing")
        except (rtmidi.RtMidiError, ValueError) as error:
            if midi_out is not None:
                midi_out.delete()
            raise PortUnavailable(_busy_sentence(name)) from error
        return _RtMidiOutput(midi_out)

    def look_afresh(self) -> None:
        """Drop the objects for looking, or the memory that none could be made, and try anew."""
        self._failed = False
        self._server_sockets = frozenset()
        for probe in (self._in_probe, self._out_probe):
            if probe is not None:
                with _quiet_libraries():
                    probe.delete()
        self._in_probe = self._out_probe = None

    def _make(self, kind: Any, **options: int) -> Any:
        with _quiet_libraries():
            made = kind(self._api, name=CLIENT_NAME, **options)
        self._server_sockets = _jack_sockets() if self.key == "jack" else frozenset()
        return made

    def _server_went(self) -> bool:
        """A JACK server that ended or was restarted: its clients go on listing its last ports."""
        if self._server_sockets <= _jack_sockets():
            return False
        self._failed = True
        return True


class _RtMidiInput:
    def __init__(self, midi_in: Any) -> None:
        self._midi_in = midi_in

    def next_message(self) -> Received | None:
        if self._midi_in is None:
            return None
        received = self._midi_in.get_message()
        return None if received is None else Received(bytes(received[0]), received[1])

    def close(self) -> None:
        midi_in, self._midi_in = self._midi_in, None
        if midi_in is not None:
            with _quiet_libraries():
                midi_in.close_port()
                midi_in.delete()


class _RtMidiOutput:
    def __init__(self, midi_out: Any) -> None:
        self._midi_out = midi_out

    def send(self, message: bytes) -> None:
        self._midi_out.send_message(message)

    def close(self) -> None:
        midi_out, self._midi_out = self._midi_out, None
        if midi_out is not None:
            with _quiet_libraries():
                midi_out.close_port()
                midi_out.delete()


def systems_of_this_machine() -> tuple[MidiSystem, ...]:
    """All MIDI systems that this build of rtmidi knows, usable at the moment or not."""
    found = ((rtmidi.get_api_name(api), api) for api in rtmidi.get_compiled_api())
    return tuple(RtMidiSystem(key, api) for key, api in found if key in _SYSTEM_NAMES)


def _index_of(name: str, ordinal: int, names: list[str]) -> int:
    places = [index for index, candidate in enumerate(names) if candidate == name]
    if ordinal >= len(places):
        raise ValueError(name)
    return places[ordinal]


def _busy_sentence(name: str) -> str:
    return (
        f"“{name}” cannot be opened: another program may be using it, or it has just been "
        "switched off."
    )


def _jack_sockets() -> frozenset[tuple[str, int]]:
    """The socket of this user's JACK server with its inode (JACK 2 on Linux); empty for none."""
    if sys.platform != "linux":
        return frozenset()
    name = os.environ.get("JACK_DEFAULT_SERVER", "default")
    socket = Path("/dev/shm") / f"jack_{name}_{os.getuid()}_0"
    try:
        return frozenset({(str(socket), socket.stat().st_ino)})
    except OSError:
        return frozenset()


_stderr_lock = threading.Lock()


@contextlib.contextmanager
def _quiet_libraries() -> Iterator[None]:
    """Keep the MIDI libraries from writing to standard error while an object is made or closed.

    ALSA and JACK print several lines each time they are not there, from C, and the look is
    repeated for as long as no MIDI system is found.
    """
    with _stderr_lock:
        try:
            sys.stderr.flush()
            saved = os.dup(2)
        except (OSError, ValueError, AttributeError):  # no standard error (windowed start)
            yield
            return
        try:
            silent = os.open(os.devnull, os.O_WRONLY)
            os.dup2(silent, 2)
            os.close(silent)
            yield
        finally:
            os.dup2(saved, 2)
            os.close(saved)
