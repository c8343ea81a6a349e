"""The connection to the piano, with a MIDI system in memory."""

import pytest

from companion.midi.listener import (
    FLOOD_MESSAGES_PER_SECOND,
    MAX_MESSAGES_PER_DRAIN,
    Listener,
    ListenerKind,
    channel_message,
)
from companion.midi.ports import MidiPort, PortProbe
from tests.unit.midi.fake_midi import Clock, FakeSystem

PIANO = "Digital piano:MIDI 1 20:0"
TWIN = "Digital piano:MIDI 2 20:1"


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def system(clock):
    return FakeSystem(clock, PIANO)


@pytest.fixture
def listener(clock, system):
    return Listener(PortProbe([system]), clock=clock)


def drain_for(listener, clock, seconds):
    """Drain every 2 ms for that long and return everything that came."""
    messages = []
    for _ in range(round(seconds / 0.002)):
        clock.seconds += 0.002
        messages += listener.drain()
    return messages


def test_the_only_piano_is_connected_by_itself(listener, clock):
    drain_for(listener, clock, 1.0)
    assert listener.state.kind is ListenerKind.CONNECTED
    assert listener.state.sentence == "Listening to “Digital piano, MIDI 1”."


def test_connecting_is_shown_before_it_is_done(listener):
    listener.drain()
    assert listener.state.kind is ListenerKind.CONNECTING


def test_without_a_midi_system_the_state_says_so_until_there_is_one(listener, clock, system):
    system.usable = False
    drain_for(listener, clock, 1.0)
    assert listener.state.kind is ListenerKind.NO_MIDI_SYSTEM
    system.usable = True
    drain_for(listener, clock, 6.0)
    assert listener.state.connected


def test_a_piano_switched_on_later_is_found(listener, clock, system):
    system.ports.clear()
    drain_for(listener, clock, 1.0)
    assert listener.state.kind is ListenerKind.NO_PORT
    system.ports.append(PIANO)
    drain_for(listener, clock, 1.0)
    assert listener.state.connected


def test_a_piano_that_goes_releases_what_was_down(listener, clock, system):
    drain_for(listener, clock, 1.0)
    system.opened[-1].send(b"\x90\x3c\x40")
    system.opened[-1].send(b"\xb0\x40\x7f")
    drain_for(listener, clock, 0.1)
    system.ports.clear()
    released = drain_for(listener, clock, 0.5)
    assert [m.message for m in released] == [b"\x80\x3c\x40", b"\xb0\x40\x00"]
    assert not any(m.from_instrument for m in released)
    assert listener.state.kind is ListenerKind.LOST
    assert system.opened[-1].closed


def test_a_piano_that_comes_back_is_heard_through_a_fresh_input(listener, clock, system):
    drain_for(listener, clock, 1.0)
    system.ports.clear()
    drain_for(listener, clock, 1.0)
    system.ports.append("Digital piano:MIDI 1 28:0")
    drain_for(listener, clock, 1.0)
    assert listener.state.connected
    system.opened[-1].send(b"\x90\x3c\x40")
    assert [m.message for m in drain_for(listener, clock, 0.01)] == [b"\x90\x3c\x40"]


def test_a_piano_that_is_switched_off_and_on_at_once_is_heard_again(listener, clock, system):
    drain_for(listener, clock, 3.0)
    before = system.opened[-1]
    system.ports.clear()
    drain_for(listener, clock, 0.15)
    system.ports.append(PIANO)  # under the same name
    drain_for(listener, clock, 0.5)
    assert before.closed
    assert listener.state.connected
    system.opened[-1].send(b"\x90\x3c\x40")
    assert [m.message for m in drain_for(listener, clock, 0.01)] == [b"\x90\x3c\x40"]


def test_messages_carry_the_times_at_which_they_came(listener, clock, system):
    drain_for(listener, clock, 1.0)
    sent = []
    for gap in (0.0107, 0.1331, 0.0503):
        clock.seconds += gap % 0.002
        system.opened[-1].send(b"\x90\x3c\x40")
        sent.append(clock.seconds)
        messages = drain_for(listener, clock, gap)
        assert messages[0].at_seconds == pytest.approx(sent[-1], abs=0.001)


def test_active_sensing_that_stops_releases_the_keys_after_300_ms(listener, clock, system):
    # MIDI 1.0: once active sensing was received, 300 ms of silence mean that the line is lost.
    drain_for(listener, clock, 1.0)
    system.opened[-1].send(b"\xfe")
    system.opened[-1].send(b"\x90\x3c\x40")
    struck_at = clock.seconds
    assert [m.message for m in drain_for(listener, clock, 0.29)] == [b"\x90\x3c\x40"]
    (released,) = drain_for(listener, clock, 0.05)
    assert released.message == b"\x80\x3c\x40"
    assert released.at_seconds - struck_at == pytest.approx(0.3, abs=0.03)


def test_a_late_drain_is_not_taken_for_a_lost_line(listener, clock, system):
    drain_for(listener, clock, 1.0)
    system.opened[-1].send(b"\xfe")
    system.opened[-1].send(b"\x90\x3c\x40")
    drain_for(listener, clock, 0.1)
    for _ in range(4):  # the program is held up for a second, the piano goes on sensing
        clock.seconds += 0.25
        system.opened[-1].send(b"\xfe")
    assert drain_for(listener, clock, 0.1) == []
    assert listener.state.connected


def test_without_active_sensing_a_long_silence_is_no_loss(listener, clock, system):
    drain_for(listener, clock, 1.0)
    system.opened[-1].send(b"\x90\x3c\x40")
    assert len(drain_for(listener, clock, 20.0)) == 1
    assert listener.state.connected


def test_an_instrument_that_sends_everything_on_two_ports_is_heard_once(listener, clock, system):
    system.ports.append(TWIN)
    drain_for(listener, clock, 1.0)
    first, second = system.opened
    heard = []
    for number in range(5):
        for opened in (first, second):
            if not opened.closed:
                opened.send(bytes((0x90, 60 + number, 64)))
        heard += drain_for(listener, clock, 0.1)
    assert [m.message[1] for m in heard] == [60, 61, 62, 63, 64]


def test_keys_that_come_on_the_second_port_only_are_heard(listener, clock, system):
    system.ports.append(TWIN)
    drain_for(listener, clock, 1.0)
    system.opened[1].send(b"\x90\x3c\x40")
    assert len(drain_for(listener, clock, 0.1)) == 1
    assert listener.state.port.name == TWIN


def test_a_port_that_appears_elsewhere_shows_in_the_state(listener, clock, system):
    drain_for(listener, clock, 1.0)
    before = listener.state
    system.ports.append("Attic K2:MIDI 1 24:0")
    drain_for(listener, clock, 1.0)
    assert listener.state != before
    labels = [p.label for p in listener.state.ports.ports]
    assert labels == ["Digital piano, MIDI 1", "Attic K2, MIDI 1"]
    assert listener.state.port == before.port


def test_what_a_cable_can_carry_is_no_flood():
    # MIDI 1.0: 31,250 bit/s, ten bits a byte: a three-byte message takes 0.96 ms.
    assert pytest.approx(0.00096) == 3 * 10 / 31_250
    assert FLOOD_MESSAGES_PER_SECOND > 31_250 / 30


def test_a_chosen_port_is_listened_to_alone(listener, clock, system):
    system.ports.append(TWIN)
    drain_for(listener, clock, 1.0)
    listener.choose_port(MidiPort(name=TWIN, system="alsa"))
    drain_for(listener, clock, 1.0)
    assert listener.state.port.name == TWIN
    assert [opened.name for opened in system.opened if not opened.closed] == [TWIN]


def test_a_chosen_port_that_is_away_is_waited_for(listener, clock):
    listener.choose_port(MidiPort(name="Attic K2:MIDI 1 30:0", system="alsa"))
    drain_for(listener, clock, 1.0)
    assert listener.state.kind is ListenerKind.NO_PORT
    assert "Attic K2" in listener.state.sentence


def test_a_port_in_use_elsewhere_is_told_and_tried_again(listener, clock, system):
    system.busy.add(PIANO)
    drain_for(listener, clock, 1.0)
    assert listener.state.kind is ListenerKind.PORT_BUSY
    system.busy.clear()
    drain_for(listener, clock, 5.0)
    assert listener.state.connected


def test_only_the_chosen_midi_system_is_used(clock, system):
    jack = FakeSystem(clock, "Attic K2:keys", key="jack", name="JACK")
    listener = Listener(PortProbe([system, jack]), clock=clock)
    listener.choose_system("jack")
    drain_for(listener, clock, 1.0)
    assert listener.state.port.system == "jack"
    assert listener.state.system == "jack"


def test_the_last_piano_is_taken_back_when_it_appears_and_the_other_is_quiet(clock):
    system = FakeSystem(clock, "Attic K2:MIDI 1 24:0")
    last = MidiPort(name=PIANO, system="alsa").identity
    listener = Listener(PortProbe([system]), clock=clock, last_identity=last)
    drain_for(listener, clock, 1.0)
    assert listener.state.port.name == "Attic K2:MIDI 1 24:0"
    system.ports.append(PIANO)
    drain_for(listener, clock, 1.0)
    assert listener.state.port.name == PIANO


def test_the_piano_that_is_being_played_is_not_left_for_another(clock, system):
    listener = Listener(PortProbe([system]), clock=clock)
    drain_for(listener, clock, 1.0)
    system.opened[-1].send(b"\x90\x3c\x40")
    drain_for(listener, clock, 0.1)
    system.ports.insert(0, "Grand piano:MIDI 1 30:0")
    drain_for(listener, clock, 20.0)
    assert listener.state.port.name == PIANO
    assert listener.last_identity == listener.state.port.identity


def test_a_flood_is_bounded_per_drain_loses_nothing_and_is_told(listener, clock, system):
    drain_for(listener, clock, 1.0)
    for _ in range(MAX_MESSAGES_PER_DRAIN * 3):
        system.opened[-1].send(b"\xb0\x07\x01")
    clock.seconds += 0.002
    assert len(listener.drain()) == MAX_MESSAGES_PER_DRAIN
    assert len(drain_for(listener, clock, 1.5)) == MAX_MESSAGES_PER_DRAIN * 2
    assert listener.state.connected
    flooded = []
    for _ in range(1000):
        for _ in range(20):  # 10,000 messages a second
            system.opened[-1].send(b"\xb0\x07\x01")
        flooded += drain_for(listener, clock, 0.002)
    assert len(flooded) == 20_000
    assert listener.state.flood
    drain_for(listener, clock, 2.5)
    assert not listener.state.flood


def test_clock_and_system_messages_are_left_out(listener, clock, system):
    drain_for(listener, clock, 1.0)
    for message in (b"\xf8", b"\xfe", b"\xf0\x7e\x7f\x06\x01\xf7", b"\xf2\x00\x00", b"\xfa"):
        system.opened[-1].send(message)
    assert drain_for(listener, clock, 0.1) == []


def test_closing_releases_and_lets_the_port_go(listener, clock, system):
    drain_for(listener, clock, 1.0)
    system.opened[-1].send(b"\x90\x3c\x40")
    drain_for(listener, clock, 0.1)
    assert [m.message for m in listener.close()] == [b"\x80\x3c\x40"]
    assert system.opened[-1].closed
    assert drain_for(listener, clock, 2.0) == []
    assert len(system.opened) == 1


@pytest.mark.parametrize(
    ("received", "played"),
    [
        (b"\x90\x3c\x00", b"\x80\x3c\x40"),  # velocity 0 is a release, release velocity 64
        (b"\x93\x3c\x40", b"\x93\x3c\x40"),
        (b"\xc0\x05", b"\xc0\x05"),
        (b"\xf8", None),
        (b"\xf0\x01\xf7", None),
        (b"", None),
        (b"\x90", None),
    ],
)
def test_only_channel_messages_come_through(received, played):
    assert channel_message(received) == played
