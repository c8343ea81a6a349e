"""Where a take begins and ends."""

from hypothesis import given
from hypothesis import strategies as st

from companion.listening.heard import heard_from
from companion.listening.takes import (
    LONGEST_HELD_SECONDS,
    TakeBegan,
    TakeEnded,
    TakeMessage,
    TakeSegmenter,
    cut_into_takes,
)
from tests.unit.listening.messages import control, off, on


def a_take(segmenter, start=100.0, notes=5):
    for number in range(notes):
        segmenter.hear(on(start + number, 60 + number))
        segmenter.hear(off(start + number + 0.5, 60 + number))
    return start + notes - 0.5


def test_a_take_begins_with_the_first_note():
    segmenter = TakeSegmenter(3.0)
    assert segmenter.hear(on(100.0, 60, 80)) == [
        TakeBegan(100.0),
        TakeMessage(0.0, b"\x90\x3c\x50"),
    ]
    assert segmenter.in_take


def test_a_pedal_alone_begins_no_take():
    segmenter = TakeSegmenter(3.0)
    assert segmenter.hear(control(100.0, 64, 127)) == []
    assert not segmenter.in_take


def test_the_pedal_that_was_down_before_stands_at_the_beginning():
    segmenter = TakeSegmenter(3.0)
    segmenter.hear(control(90.0, 64, 127))
    segmenter.hear(control(90.0, 67, 30))
    segmenter.hear(control(95.0, 67, 0))
    assert segmenter.hear(on(100.0, 60))[1] == TakeMessage(0.0, b"\xb0\x40\x7f")
    assert segmenter.note_count == 1


def test_a_take_ends_after_the_silence_and_not_before():
    segmenter = TakeSegmenter(3.0)
    last = a_take(segmenter)
    assert segmenter.tick(last + 2.99) == []
    assert segmenter.tick(last + 3.0) == [
        TakeEnded(began_clock_seconds=100.0, duration_seconds=4.5, note_count=5, short=False)
    ]


def test_a_held_key_keeps_the_take_open():
    segmenter = TakeSegmenter(3.0)
    segmenter.hear(on(100.0, 60))
    assert segmenter.tick(120.0) == []


def test_a_key_that_is_never_released_does_not_keep_it_open_for_ever():
    segmenter = TakeSegmenter(3.0)
    segmenter.hear(on(100.0, 60))
    assert len(segmenter.tick(100.0 + LONGEST_HELD_SECONDS)) == 1


def test_a_held_pedal_does_not_keep_the_take_open():
    segmenter = TakeSegmenter(3.0)
    segmenter.hear(control(99.0, 64, 127))
    last = a_take(segmenter)
    segmenter.hear(control(last + 2.0, 64, 60))
    assert len(segmenter.tick(last + 3.0)) == 1


def test_late_ticks_still_cut_between_two_takes():
    segmenter = TakeSegmenter(3.0)
    last = a_take(segmenter)
    steps = segmenter.hear(on(last + 60.0, 72))
    assert [type(step) for step in steps] == [TakeEnded, TakeBegan, TakeMessage]


def test_a_tick_that_ran_ahead_of_waiting_messages_does_not_move_them():
    segmenter = TakeSegmenter(3.0)
    segmenter.hear(on(100.0, 60))
    segmenter.tick(100.8)  # the window was held up, the next message waits in the queue
    assert segmenter.hear(on(100.5, 62, 80)) == [TakeMessage(0.5, b"\x90\x3e\x50")]


def test_messages_of_a_take_never_run_backwards():
    segmenter = TakeSegmenter(3.0)
    segmenter.hear(on(100.0, 60))
    segmenter.hear(on(101.0, 62))
    assert segmenter.hear(off(100.9, 62))[-1].at_seconds == 1.0


def test_a_touched_key_is_kept_but_flagged_as_short():
    segmenter = TakeSegmenter(3.0)
    last = a_take(segmenter, notes=2)
    (ended,) = segmenter.tick(last + 3.0)
    assert ended.short
    assert ended.note_count == 2


def test_closing_the_window_ends_the_take_with_keys_down():
    segmenter = TakeSegmenter(3.0)
    segmenter.hear(on(100.0, 60))
    segmenter.hear(on(101.0, 64))
    assert segmenter.finish()[0].duration_seconds == 1.0
    assert not segmenter.in_take
    assert segmenter.finish() == []


def test_the_drums_of_the_instrument_begin_no_take():
    assert TakeSegmenter(3.0).hear(on(100.0, 42, channel=9)) == []


def test_a_layer_on_two_channels_is_counted_once():
    segmenter = TakeSegmenter(3.0)
    segmenter.hear(on(100.0, 60))
    segmenter.hear(on(100.001, 60, channel=1))
    segmenter.hear(on(101.0, 60))
    assert segmenter.note_count == 2


def test_a_changed_silence_holds_at_once():
    segmenter = TakeSegmenter(3.0)
    last = a_take(segmenter)
    segmenter.silence_seconds = 10.0
    assert segmenter.tick(last + 9.0) == []


def test_an_hour_of_practice_is_cut_at_its_silences():
    events = [on(10.0, 60), off(10.5, 60), on(12.0, 62), off(12.5, 62), on(60.0, 64), off(61.0, 64)]
    takes = cut_into_takes(events, silence_seconds=4.0)
    assert [(t.began_seconds, t.note_count) for t in takes] == [(10.0, 2), (60.0, 1)]
    assert takes[1].messages[0].at_seconds == 0.0


def test_a_recording_on_channel_ten_alone_is_cut_too():
    events = [on(0.0, 60, channel=9), off(0.5, 60, channel=9)]
    assert len(cut_into_takes(events)) == 1


@given(
    st.lists(
        st.tuples(st.floats(0.0, 9.0), st.integers(60, 64), st.booleans()), min_size=1, max_size=50
    )
)
def test_every_message_is_in_exactly_one_take_or_before_the_first_note_of_one(steps):
    at, events = 0.0, []
    for wait, pitch, struck in steps:
        at += wait
        events.append(on(at, pitch) if struck else off(at, pitch))
    takes = cut_into_takes(events, silence_seconds=4.0)
    notes = [heard_from(take.messages) for take in takes]
    assert [take.note_count for take in takes] == [len(heard.notes) for heard in notes]
    struck = sum(e.message[0] == 0x90 for e in events)
    assert sum(len(heard.notes) + heard.doubled for heard in notes) == struck
    for take in takes:
        times = [m.at_seconds for m in take.messages]
        assert times == sorted(times)
        assert take.messages[0].at_seconds == 0.0
