"""MIDI ports as plain values: who they are over reconnects, which of them is the piano.

Conventions
-----------
- A port's ``name`` is what the system calls it at the moment and may carry numbers that change
  with every reconnection; its :attr:`MidiPort.identity` does not, and is what is remembered.
- Ports that only echo (a "through" port) and our own are left out.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from companion.midi.systems import CLIENT_NAME, MidiSystem, systems_of_this_machine

NO_SYSTEM_SENTENCE = (
    "No MIDI system is running on this computer, so a piano cannot be heard. "
    "You can still play on the keyboard on the screen or open recorded MIDI files."
)

_ALSA_NUMBERS = re.compile(r"\s+\d+:\d+$")  # "Digital piano:MIDI 1 20:0"
_BRIDGE_NUMBERS = re.compile(r"\s*\[\d+\]")  # ALSA ports as JACK ports: "a2j:Piano [20] (capture)"
_JACK_CLIENT_COUNT = re.compile(r"-\d+(?=:)")  # second client of a name: "Piano-01:keys"
_JACK_BRIDGES = {"a2j", "a2jmidid", "system", "Midi-Bridge"}  # one client for all instruments
_BRIDGE_CAPTURE = re.compile(r"\s*\(capture(_\d+)?\)\s*")
_WINDOWS_NUMBER = re.compile(r"\s+\d+$")  # rtmidi appends the index of the port
_WINDOWS_TWIN = re.compile(r"^MIDIIN\d+ \((?P<device>.+)\)$")
_PORT_NUMBER = re.compile(r"[\s_-]+(port|midi|in|out)[\s_-]*\d+$", re.IGNORECASE)

_THROUGH = re.compile(r"\bthrough\b|\bthru\b", re.IGNORECASE)
_LIKE_A_PIANO = re.compile(r"piano|clav|grand|upright|keys|keyboard", re.IGNORECASE)
_LIKE_AN_INSTRUMENT = re.compile(r"midi|usb|digital|synth", re.IGNORECASE)
_UNLIKE_A_PIANO = re.compile(
    r"control|pad|mixer|daw|sync|pedalboard|drum|network|session|monitor", re.IGNORECASE
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MidiPort:
    """One port of one MIDI system, as seen at the moment.

    Parameters
    ----------
    name
        What the system calls it now.
    system
        Key of the system, "alsa"; ``system_name`` is the same for a person.
    ordinal
        0, or counted up where a system has several ports of exactly the same name.
    """

    name: str
    system: str
    system_name: str = ""
    ordinal: int = 0

    @property
    def identity(self) -> str:
        """What stays the same when the instrument is switched off and on again."""
        number = f"#{self.ordinal + 1}" if self.ordinal else ""
        return f"{self.system}/{self._stripped}{number}"

    @property
    def label(self) -> str:
        """Name for a person: without client numbers, and without repeating itself."""
        client, port = self._client_and_port
        if not port or port.startswith(client):
            return port or client
        return f"{client}, {port}"

    @property
    def device(self) -> str:
        """The instrument behind the port: ports with the same device are twins."""
        client, port = self._client_and_port
        twin = _WINDOWS_TWIN.match(client)
        if twin:
            client = twin["device"]
        elif not port:
            client = _PORT_NUMBER.sub("", client) or client
        return f"{self.system}/{client}"

    @property
    def _client_and_port(self) -> tuple[str, str]:
        client, _, port = self._stripped.partition(":")
        if self.system == "jack" and client in _JACK_BRIDGES:
            client, _, port = _BRIDGE_CAPTURE.sub("", port).partition(":")
        return client.strip(), port.strip()

    @property
    def _stripped(self) -> str:
        name = _BRIDGE_NUMBERS.sub("", _ALSA_NUMBERS.sub("", self.name))
        if self.system == "jack":
            name = _JACK_CLIENT_COUNT.sub("", name)
        if self.system == "winmm":
            name = _WINDOWS_NUMBER.sub("", name)
        return name.strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class PortList:
    """All ports of all systems at one moment; ``systems`` are the keys of the usable ones."""

    systems: tuple[str, ...] = ()
    ports: tuple[MidiPort, ...] = ()

    @property
    def sentence(self) -> str:
        """What to tell when there is nothing to choose from; empty when there is."""
        if not self.systems:
            return NO_SYSTEM_SENTENCE
        if not self.ports:
            return "No piano is connected. Plug it in and switch it on: it is found by itself."
        return ""


@dataclass(slots=True)
class PortProbe:
    """Looks which ports there are; keeps its own objects, apart from those that listen."""

    systems: Sequence[MidiSystem] = field(default_factory=systems_of_this_machine)

    def inputs(self, only_system: str | None = None) -> PortList:
        """Ports that can be listened to, of all systems or of one."""
        return self._listed((s, s.input_names()) for s in self._chosen(only_system))

    def outputs(self, only_system: str | None = None) -> PortList:
        """Ports that can be played to, of all systems or of one."""
        return self._listed((s, s.output_names()) for s in self._chosen(only_system))

    def system(self, key: str) -> MidiSystem:
        """Return the system of that key (KeyError if there is none)."""
        return {system.key: system for system in self.systems}[key]

    def look_afresh(self) -> None:
        """Make new objects for looking: a restarted MIDI server is not seen by old ones."""
        for system in self.systems:
            system.look_afresh()

    def _chosen(self, only_system: str | None) -> list[MidiSystem]:
        return [s for s in self.systems if only_system in (None, s.key)]

    @staticmethod
    def _listed(named: Iterable[tuple[MidiSystem, tuple[str, ...] | None]]) -> PortList:
        usable: list[str] = []
        ports: list[MidiPort] = []
        for system, names in named:
            if names is None:
                continue
            usable.append(system.key)
            seen: Counter[str] = Counter()
            for name in names:
                if not _is_echo_or_own(name):
                    ports.append(
                        MidiPort(
                            name=name,
                            system=system.key,
                            system_name=system.name,
                            ordinal=seen[name],
                        )
                    )
                seen[name] += 1
        return PortList(systems=tuple(usable), ports=tuple(ports))


def list_ports() -> tuple[PortList, PortList]:
    """Inputs and outputs of this machine at the moment, for a command that just lists them."""
    probe = PortProbe()
    try:
        return probe.inputs(), probe.outputs()
    finally:
        probe.look_afresh()


def most_likely_piano(ports: Iterable[MidiPort], last_identity: str = "") -> MidiPort | None:
    """Return the port to connect to: the last piano, else the one most like a piano."""
    ranked = sorted(ports, key=lambda port: (port.identity != last_identity, -_likeness(port)))
    return ranked[0] if ranked else None


def _likeness(port: MidiPort) -> int:
    name = port.label
    likeness = 4 * bool(_LIKE_A_PIANO.search(name)) + bool(_LIKE_AN_INSTRUMENT.search(name))
    return likeness - 2 * bool(_UNLIKE_A_PIANO.search(name))


def _is_echo_or_own(name: str) -> bool:
    return bool(_THROUGH.search(name)) or re.match(rf"{CLIENT_NAME}(-\d+)?:", name) is not None
