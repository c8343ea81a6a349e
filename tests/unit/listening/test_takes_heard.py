"""From raw messages to notes."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.history.model import RawEvent
from companion.listening.heard import NoteBuilder, heard_from
from companion.listening.notes import HeardNote, PedalChange
from tests.unit.listening.messages import control, off, on


def test_a_key_pressed_and_released_is_a_note_with_its_key_down_time():
    heard = heard_from([on(1.0, 60, 80), off(1.5, 60)])
    assert heard.notes == (HeardNote(1.0, 0.5, 60, 80),)


def test_note_on_with_velocity_zero_releases_the_key():
    # MIDI 1.0: a note-on with velocity 0 is a note-off.
    heard = heard_from([on(0.0, 60), on(0.5, 60, velocity=0)])
    assert heard.notes == (HeardNote(0.0, 0.5, 60, 64),)
    assert heard.never_released == 0


def test_a_key_struck_again_without_release_ends_the_note_before():
    heard = heard_from([on(0.0, 60), on(1.0, 60), off(1.4, 60)])
    assert [n.duration_seconds for n in heard.notes] == pytest.approx([1.0, 0.4])
    assert heard.struck_again == 1


def test_a_stuck_note_lasts_until_the_last_message():
    heard = heard_from([on(0.0, 60), on(1.0, 64), off(3.0, 64)])
    assert heard.notes[0].duration_seconds == 3.0
    assert heard.never_released == 1


def test_a_release_without_a_stroke_is_counted_and_ignored():
    heard = heard_from([off(0.0, 60), on(0.5, 62), off(0.7, 62)])
    assert [n.pitch for n in heard.notes] == [62]
    assert heard.stray_releases == 1


def test_a_layer_on_two_channels_is_one_note():
    heard = heard_from(
        [on(0.0, 60), on(0.001, 60, channel=1), off(0.5, 60), off(0.501, 60, channel=1)]
    )
    assert heard.notes == (HeardNote(0.0, 0.5, 60, 64),)
    assert heard.doubled == 1


def test_the_release_of_one_hand_does_not_end_the_same_key_of_the_other():
    heard = heard_from([on(0.0, 60), on(1.0, 60, channel=1), off(1.5, 60), off(2.0, 60, channel=1)])
    assert [n.duration_seconds for n in heard.notes] == pytest.approx([1.0, 1.0])


def test_a_fast_repetition_is_not_taken_for_a_doubled_stroke():
    strokes = [e for i in range(8) for e in (on(i / 15, 60), off(i / 15 + 0.03, 60))]
    assert len(heard_from(strokes).notes) == 8


def test_the_rhythm_of_the_instrument_on_channel_ten_is_left_out():
    heard = heard_from([on(0.0, 42, channel=9), on(0.1, 60), off(0.4, 60)])
    assert [n.pitch for n in heard.notes] == [60]


def test_a_keyboard_that_sends_only_on_channel_ten_is_heard():
    heard = heard_from([on(0.0, 60, channel=9), off(0.4, 60, channel=9)])
    assert [n.pitch for n in heard.notes] == [60]


def test_all_notes_off_releases_every_key():
    heard = heard_from([on(0.0, 60), on(0.0, 64), control(1.0, 123, 0), on(2.0, 65), off(3.0, 65)])
    assert [n.duration_seconds for n in heard.notes] == [1.0, 1.0, 1.0]


@pytest.mark.parametrize("controller", [64, 66, 67])
def test_each_pedal_keeps_its_raw_value(controller):
    heard = heard_from([control(0.2, controller, 37), on(0.5, 60), off(1.0, 60)])
    assert heard.pedals == (PedalChange(0.2, controller, 37),)


def test_other_controllers_wheels_and_programs_are_no_pedals():
    messages = [b"\xb0\x07\x64", b"\xe0\x00\x40", b"\xc0\x05", b"\xd0\x10"]
    heard = heard_from([RawEvent(0.0, m) for m in messages])
    assert heard.notes == ()
    assert heard.pedals == ()


def test_live_a_struck_key_is_told_at_once_with_no_length_yet():
    builder = NoteBuilder()
    assert builder.hear(on(2.0, 60, 70)) == HeardNote(2.0, 0.0, 60, 70)
    assert builder.keys_down == {60}
    assert builder.hear(off(2.5, 60)) is None
    assert builder.keys_down == frozenset()


messages = st.lists(
    st.tuples(
        st.floats(0.0, 0.5),
        st.one_of(
            st.tuples(st.sampled_from([0x80, 0x81, 0x90, 0x91]), st.integers(58, 62)),
            st.tuples(st.sampled_from([0xB0]), st.sampled_from([64, 66, 67, 120, 123, 7])),
        ),
        st.integers(0, 127),
    ),
    max_size=60,
)


@given(messages)
def test_whatever_arrives_notes_of_one_key_never_overlap(steps):
    at, events = 0.0, []
    for wait, (status, first), second in steps:
        at += wait
        events.append(RawEvent(at, bytes((status, first, second))))
    heard = heard_from(events)
    struck = sum(e.message[0] & 0xF0 == 0x90 and e.message[2] > 0 for e in events)
    assert len(heard.notes) + heard.doubled == struck
    for pitch in range(58, 63):
        same = [n for n in heard.notes if n.pitch == pitch]
        for earlier, later in itertools.pairwise(same):
            assert earlier.onset_seconds + earlier.duration_seconds <= later.onset_seconds + 1e-9
