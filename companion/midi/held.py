"""Which keys and pedals are down, so that they can be released when the piano goes."""

from __future__ import annotations

from companion.listening.heard import PEDAL_CONTROLLERS


class HeldKeys:
    """Follows the channel messages of one instrument."""

    def __init__(self) -> None:
        self._keys: set[tuple[int, int]] = set()
        self._pedals: set[tuple[int, int]] = set()

    @property
    def any_down(self) -> bool:
        """Whether any key or pedal is down."""
        return bool(self._keys or self._pedals)

    def hear(self, message: bytes) -> None:
        """Follow one channel message (note-on with velocity 0 already made a note-off)."""
        kind, channel = message[0] & 0xF0, message[0] & 0x0F
        if kind == 0x90:
            self._keys.add((channel, message[1]))
        elif kind == 0x80:
            self._keys.discard((channel, message[1]))
        elif kind == 0xB0 and message[1] in PEDAL_CONTROLLERS:
            pedal = (channel, message[1])
            (self._pedals.add if message[2] else self._pedals.discard)(pedal)
        elif kind == 0xB0 and message[1] in (120, 123):  # all sound off, all notes off
            self._keys = {key for key in self._keys if key[0] != channel}

    def release_all(self) -> list[bytes]:
        """Messages that release everything that is down; afterwards nothing is."""
        offs = [bytes((0x80 | channel, pitch, 64)) for channel, pitch in sorted(self._keys)]
        ups = [bytes((0xB0 | channel, pedal, 0)) for channel, pedal in sorted(self._pedals)]
        self._keys.clear()
        self._pedals.clear()
        return offs + ups
