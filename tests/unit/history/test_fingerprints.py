from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from companion.history.fingerprints import fingerprint, same_playing
from companion.history.model import RawEvent
from tests.unit.storage.history_examples import some_events


@given(st.lists(st.floats(-0.001, 0.001), min_size=8, max_size=8))
def test_the_rounding_of_a_file_makes_no_other_playing(shifts):
    events = some_events(4)
    moved = [
        replace(event, at_seconds=max(0.0, event.at_seconds + shift))
        for event, shift in zip(events, shifts, strict=True)
    ]
    assert fingerprint(moved) == fingerprint(events)
    assert same_playing(moved, events)


def test_the_same_keys_in_another_time_are_another_playing():
    events = some_events(4)
    slower = [replace(event, at_seconds=event.at_seconds * 1.1) for event in events]
    assert fingerprint(slower) == fingerprint(events)
    assert not same_playing(slower, events)


def test_another_velocity_is_another_playing():
    events = list(some_events(4))
    events[0] = RawEvent(0.0, bytes([0x90, 60, 71]))
    assert fingerprint(events) != fingerprint(some_events(4))
    assert not same_playing(events, some_events(4))


def test_pedals_releases_and_channels_do_not_count():
    events = some_events(2)
    other = (
        RawEvent(0.0, b"\xb0\x40\x7f"),
        *(RawEvent(e.at_seconds, bytes([e.message[0] | 3]) + e.message[1:]) for e in events),
        RawEvent(3.0, b"\x90\x3c\x00"),
    )
    assert fingerprint(other) == fingerprint(events)
    assert same_playing(other, events)
