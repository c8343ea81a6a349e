"""Keys and pedals of the piano that give a command instead of a note.

The few things that are needed while playing work from the piano, so that hands need not leave it:
a key that the piece does not use, or a pedal that is not needed, is chosen for each. What was
chosen is no music any more: it is neither followed nor kept in a take.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

_NOTE_OFF, _NOTE_ON, _CONTROL, _KIND = 0x80, 0x90, 0xB0, 0xF0
_DOWN_FROM = 64
"""A pedal counts as pressed from here (MIDI 1.0, switch controllers: 0-63 off, 64-127 on)."""

PEDALS = {64: "damper pedal", 66: "middle pedal", 67: "left pedal"}
"""Controllers of the pedals (MIDI 1.0) by the names that pianists use."""


class TriggerKind(StrEnum):
    """What is pressed."""

    KEY = "key"
    PEDAL = "pedal"


@dataclass(frozen=True, slots=True)
class Trigger:
    """A key (its MIDI note number) or a pedal (its controller)."""

    kind: TriggerKind
    number: int

    def __str__(self) -> str:
        return f"{self.kind} {self.number}"


def trigger_from(text: str) -> Trigger | None:
    """Inverse of ``str(trigger)``; None for "" and for what makes no sense."""
    kind, _, number = text.partition(" ")
    if kind not in set(TriggerKind) or not number.isdecimal() or not 0 <= int(number) <= 127:
        return None
    trigger = Trigger(TriggerKind(kind), int(number))
    if trigger.kind is TriggerKind.PEDAL and trigger.number not in PEDALS:
        return None
    return trigger


def trigger_of(message: bytes) -> Trigger | None:
    """Return the key or pedal that a message is about, pressed or let go; None for any other."""
    if len(message) < 3:
        return None
    kind = message[0] & _KIND
    if kind in (_NOTE_ON, _NOTE_OFF):
        return Trigger(TriggerKind.KEY, message[1])
    if kind == _CONTROL and message[1] in PEDALS:
        return Trigger(TriggerKind.PEDAL, message[1])
    return None


def is_pressed(message: bytes) -> bool:
    """Whether the key or pedal of a message is pressed with it, and not let go."""
    kind = message[0] & _KIND
    if kind == _CONTROL:
        return message[2] >= _DOWN_FROM
    return kind == _NOTE_ON and message[2] > 0


class CommandKeys:
    """Tells messages that are commands from those that are music.

    A pedal sends many values on its way down: it commands once, when it passes the middle.
    """

    def __init__(self) -> None:
        self._names: dict[Trigger, str] = {}
        self._down: set[Trigger] = set()

    def choose(self, triggers: Mapping[str, Trigger | None]) -> None:
        """Take these keys and pedals from now on, by name of the command."""
        self._names = {trigger: name for name, trigger in triggers.items() if trigger is not None}
        self._down = set()

    def hear(self, message: bytes) -> tuple[bool, str]:
        """Return whether a message is no music, and the command that it gives, "" for none."""
        if not self._names:
            return False, ""
        trigger = trigger_of(message)
        if trigger is None or trigger not in self._names:
            return False, ""
        if not is_pressed(message):
            self._down.discard(trigger)
            return True, ""
        if trigger in self._down:
            return True, ""
        self._down.add(trigger)
        return True, self._names[trigger]
