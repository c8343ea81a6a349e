"""Keys and pedals that are down."""

from companion.midi.held import HeldKeys


def test_everything_that_is_down_is_released_once():
    held = HeldKeys()
    for message in (b"\x90\x3c\x40", b"\x91\x3e\x40", b"\xb0\x40\x50", b"\x90\x40\x40"):
        held.hear(message)
    held.hear(b"\x80\x40\x40")
    assert held.release_all() == [b"\x80\x3c\x40", b"\x81\x3e\x40", b"\xb0\x40\x00"]
    assert held.release_all() == []
    assert not held.any_down


def test_all_notes_off_lifts_the_keys_of_its_channel():
    held = HeldKeys()
    held.hear(b"\x90\x3c\x40")
    held.hear(b"\x91\x3e\x40")
    held.hear(b"\xb0\x7b\x00")
    assert held.release_all() == [b"\x81\x3e\x40"]
