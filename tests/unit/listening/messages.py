"""Short ways to write MIDI messages in tests."""

from companion.history.model import RawEvent


def on(at_seconds, pitch, velocity=64, channel=0):
    return RawEvent(at_seconds, bytes((0x90 | channel, pitch, velocity)))


def off(at_seconds, pitch, channel=0):
    return RawEvent(at_seconds, bytes((0x80 | channel, pitch, 64)))


def control(at_seconds, controller, value, channel=0):
    return RawEvent(at_seconds, bytes((0xB0 | channel, controller, value)))
