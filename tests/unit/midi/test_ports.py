"""Who a port is, and which of them is the piano."""

import pytest

from companion.errors import PortUnavailable
from companion.midi.ports import MidiPort, PortProbe, most_likely_piano
from companion.midi.systems import systems_of_this_machine
from tests.unit.midi.fake_midi import Clock, FakeSystem


def port(name, system="alsa", ordinal=0):
    return MidiPort(name=name, system=system, ordinal=ordinal)


@pytest.mark.parametrize(
    ("before", "after", "system"),
    [
        ("Parlour P1:Parlour P1 MIDI 1 20:0", "Parlour P1:Parlour P1 MIDI 1 28:0", "alsa"),
        ("a2j:Parlour P1 [20] (capture): MIDI 1", "a2j:Parlour P1 [24] (capture): MIDI 1", "jack"),
        ("Parlour P1:keys", "Parlour P1-01:keys", "jack"),
        ("Parlour P1 0", "Parlour P1 3", "winmm"),
        ("Parlour P1 Port 1", "Parlour P1 Port 1", "core"),
    ],
    ids=["alsa client numbers", "bridged numbers", "jack count", "windows index", "coremidi"],
)
def test_a_port_is_the_same_after_reconnecting(before, after, system):
    assert port(before, system).identity == port(after, system).identity


def test_two_ports_of_one_name_are_told_apart():
    system = FakeSystem(Clock(), "Parlour P1:MIDI 1 20:0", "Parlour P1:MIDI 1 20:0")
    listed = PortProbe([system]).inputs().ports
    assert len({p.identity for p in listed}) == 2


@pytest.mark.parametrize(
    ("one", "other", "system", "twins"),
    [
        ("Parlour P1:MIDI 1 20:0", "Parlour P1:MIDI 2 20:1", "alsa", True),
        ("Parlour P1 0", "MIDIIN2 (Parlour P1) 1", "winmm", True),
        ("Parlour P1 Port 1", "Parlour P1 Port 2", "core", True),
        ("Parlour P1:MIDI 1 20:0", "Attic K2:MIDI 1 24:0", "alsa", False),
        (
            "a2j:Parlour P1 [20] (capture): MIDI 1",
            "a2j:Parlour P1 [20] (capture): MIDI 2",
            "jack",
            True,
        ),
        (
            "a2j:Parlour P1 [20] (capture): MIDI 1",
            "a2j:Attic K2 [24] (capture): MIDI 1",
            "jack",
            False,
        ),
        ("system:midi_capture_1", "system:midi_capture_2", "jack", False),
    ],
)
def test_ports_of_one_instrument_are_twins(one, other, system, twins):
    assert (port(one, system).device == port(other, system).device) is twins


def test_echo_ports_and_our_own_are_not_offered():
    system = FakeSystem(
        Clock(),
        "Midi Through:Midi Through Port-0 14:0",
        "Companion:listening 128:0",
        "Attic:K 20:0",
    )
    assert [p.name for p in PortProbe([system]).inputs().ports] == ["Attic:K 20:0"]


def test_no_midi_system_is_a_plain_sentence_and_no_error():
    system = FakeSystem(Clock())
    system.usable = False
    listed = PortProbe([system]).inputs()
    assert listed.systems == ()
    assert listed.sentence.startswith("No MIDI system is running on this computer")


def test_the_last_piano_wins_over_one_that_is_more_like_a_piano():
    ports = [port("Grand piano:MIDI 1 20:0"), port("Attic K2:MIDI 1 24:0")]
    assert most_likely_piano(ports, ports[1].identity) == ports[1]


@pytest.mark.parametrize("other", ["Pad controller:MIDI 1 20:0", "Desk mixer:MIDI 1 20:0"])
def test_a_piano_wins_over_other_gear(other):
    ports = [port(other), port("Digital piano:MIDI 1 24:0")]
    assert most_likely_piano(ports) == ports[1]


def test_a_label_has_no_numbers_and_does_not_repeat_itself():
    assert port("Parlour P1:Parlour P1 MIDI 1 20:0").label == "Parlour P1 MIDI 1"
    assert port("Demo piano:keys", "jack").label == "Demo piano, keys"
    assert port("a2j:Attic K2 [24] (capture): MIDI 1", "jack").label == "Attic K2, MIDI 1"
    bridged = port("Midi-Bridge:Attic K2:(capture_0) Attic K2 MIDI 1", "jack")
    assert bridged.label == "Attic K2 MIDI 1"


def test_this_machine_can_be_asked_for_its_ports_without_an_error(capfd):
    probe = PortProbe(systems_of_this_machine())
    probe.inputs()
    probe.outputs()
    probe.look_afresh()
    assert capfd.readouterr().err == ""


@pytest.mark.parametrize("system", systems_of_this_machine(), ids=lambda system: system.key)
def test_a_port_that_is_not_there_cannot_be_opened_and_says_so(system):
    with pytest.raises(PortUnavailable, match="“Nowhere:keys” cannot be opened"):
        system.open_input("Nowhere:keys")
    with pytest.raises(PortUnavailable, match="“Nowhere:keys” cannot be opened"):
        system.open_output("Nowhere:keys")
