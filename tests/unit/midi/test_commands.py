"""Keys and pedals of the piano that give commands. Message bytes: MIDI 1.0."""

import pytest

from companion.midi.commands import CommandKeys, Trigger, TriggerKind, trigger_from, trigger_of

LOWEST = Trigger(TriggerKind.KEY, 21)
LEFT_PEDAL = Trigger(TriggerKind.PEDAL, 67)


@pytest.fixture
def keys():
    keys = CommandKeys()
    keys.choose({"next": LOWEST, "mark": LEFT_PEDAL, "end": None})
    return keys


def test_a_chosen_key_commands_once_and_is_no_music(keys):
    assert keys.hear(bytes([0x90, 21, 80])) == (True, "next")
    assert keys.hear(bytes([0x90, 21, 0])) == (True, "")  # velocity 0 is a note-off
    assert keys.hear(bytes([0x90, 21, 30])) == (True, "next")
    assert keys.hear(bytes([0x80, 21, 64])) == (True, "")


def test_a_pedal_commands_once_on_its_way_down(keys):
    sent = [keys.hear(bytes([0xB0, 67, value])) for value in (10, 50, 64, 90, 127, 70, 20, 0)]
    assert [name for _, name in sent] == ["", "", "mark", "", "", "", "", ""]
    assert all(taken for taken, _ in sent)


@pytest.mark.parametrize(
    "message", [[0x90, 22, 80], [0xB0, 64, 127], [0xB0, 1, 99], [0xC0, 5], [0xFE]]
)
def test_all_else_is_music(keys, message):
    assert keys.hear(bytes(message)) == (False, "")


def test_on_any_channel_it_is_the_same_key():
    assert trigger_of(bytes([0x95, 21, 1])) == LOWEST


@pytest.mark.parametrize("trigger", [LOWEST, LEFT_PEDAL])
def test_triggers_are_kept_as_text(trigger):
    assert trigger_from(str(trigger)) == trigger


@pytest.mark.parametrize("text", ["", "key", "key 128", "key -1", "pedal 7", "wheel 3", "key 1 2"])
def test_what_makes_no_sense_is_no_trigger(text):
    assert trigger_from(text) is None
