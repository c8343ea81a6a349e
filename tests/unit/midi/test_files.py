"""Recorded takes as standard MIDI files.

Expected values come from the MIDI 1.0 and standard MIDI file specifications (worked out by hand in
hex) and from mido as a second reader; see each test.
"""

import contextlib
import struct
from datetime import UTC, datetime, timedelta, timezone

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.errors import TakeUnreadable
from companion.history.model import RawEvent
from companion.listening.notes import PedalChange
from companion.midi.files import read_take, write_take
from companion.timebase import TempoMap
from tests.unit.listening.messages import control, off, on


def smf(*tracks, kind=0, division=480):
    """A standard MIDI file from the hex of its tracks (end of track is added)."""
    content = b"MThd" + struct.pack(">IHH", 6, kind, len(tracks)) + struct.pack(">h", division)
    for track in tracks:
        body = bytes.fromhex(track) + b"\x00\xff\x2f\x00"
        content += b"MTrk" + struct.pack(">I", len(body)) + body
    return content


@pytest.fixture
def read(tmp_path):
    def reader(content):
        path = tmp_path / "take.mid"
        path.write_bytes(content)
        return read_take(path)

    return reader


def test_tempo_changes_place_an_event_at_3_250_seconds(read):
    # 960 ticks at 500,000 µs (1 s... 2 quarters), then 1,440 ticks at 750,000: 1.0 + 2.25 s.
    take = read(
        smf(
            "00 90 3C 40  87 40 FF 51 03 0B 71 B0  8B 20 80 3C 40",
        )
    )
    assert take.duration_seconds == pytest.approx(3.250, abs=1e-9)
    assert TempoMap(480, ((0, 500_000), (960, 750_000))).ticks_to_seconds(2400) == 3.25


@given(
    st.lists(st.tuples(st.integers(0, 5000), st.integers(100_000, 2_000_000)), max_size=8),
    st.integers(0, 10_000),
)
def test_seconds_are_the_sum_over_all_tempi_passed(steps, ticks):
    tick, changes = 0, []
    for wait, tempo in steps:
        tick += wait
        changes.append((tick, tempo))
    seconds = 0.0
    for step in range(ticks):  # tick by tick, each by the tempo in force
        tempo = next((t for at, t in reversed(changes) if at <= step), 500_000)
        seconds += tempo / 480e6
    assert TempoMap(480, tuple(changes)).ticks_to_seconds(ticks) == pytest.approx(seconds)


def test_1920_ticks_of_480_a_quarter_are_two_seconds_at_the_default_tempo(read):
    take = read(smf("00 90 3C 40  8F 00 80 3C 40"))
    assert take.duration_seconds == pytest.approx(2.0, abs=1e-12)


@pytest.mark.parametrize(
    ("quantity", "ticks"),
    [("40", 64), ("7F", 127), ("81 00", 128), ("81 48", 200), ("FF 7F", 16383)],
)
def test_variable_length_quantities_are_those_of_the_standard(read, quantity, ticks):
    # Standard MIDI Files 1.0, table of variable-length quantities (81 48: worked example).
    take = read(smf(f"00 90 3C 40  {quantity} 80 3C 40"))
    assert take.duration_seconds == pytest.approx(ticks / 960, abs=1e-9)


def test_running_status_and_velocity_zero_are_read(read):
    # MIDI 1.0: the status byte is left out while it stays the same.
    take = read(smf("00 90 3C 40  00 40 40  83 60 3C 00  00 40 00"))
    assert [(n.pitch, n.duration_seconds) for n in take.notes] == [(60, 0.5), (64, 0.5)]


def test_tempo_of_the_first_track_holds_for_the_others(read):
    take = read(smf("00 FF 51 03 0F 42 40", "00 90 3C 40 83 60 80 3C 40", kind=1))
    assert take.duration_seconds == pytest.approx(1.0)


def test_tracks_of_format_2_are_taken_one_after_another(read):
    track = "00 90 3C 40 83 60 80 3C 40"
    take = read(smf(track, track, kind=2))
    assert [n.onset_seconds for n in take.notes] == pytest.approx([0.0, 0.5])
    assert len(take.remarks) == 1


@pytest.mark.parametrize(
    ("frames", "ticks_per_frame", "ticks", "seconds"),
    [(25, 40, 1000, 1.0), (24, 80, 960, 0.5), (30, 10, 300, 1.0), (29, 100, 2997, 1.0)],
)
def test_film_time_division_is_read(read, frames, ticks_per_frame, ticks, seconds):
    # Standard MIDI Files 1.0: E7 28 (-25, 40) are milliseconds; 29 is 30 drop-frame.
    division = ((-frames & 0xFF) << 8 | ticks_per_frame) - 0x10000
    quantity = f"{0x80 | ticks >> 7:02X} {ticks & 0x7F:02X}"
    take = read(smf(f"00 90 3C 40 {quantity} 80 3C 40", division=division))
    assert take.duration_seconds == pytest.approx(seconds, rel=1e-5)


def test_a_take_begins_with_its_first_note(read):
    take = read(smf("83 60 B0 40 7F  83 60 90 3C 40  83 60 80 3C 40"))
    assert take.lead_in_seconds == pytest.approx(1.0)
    assert take.notes[0].onset_seconds == 0.0
    assert take.pedals == (PedalChange(0.0, 64, 127),)


def test_lyrics_markers_and_system_messages_are_read_over(read):
    take = read(
        smf(
            "00 FF 05 02 6C 61  00 FF 06 01 41  00 F0 05 7E 7F 09 01 F7"
            "00 90 3C 40  81 48 80 3C 40  00 FF 7F 02 00 01"
        )
    )
    assert take.note_count == 1


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "is not a standard MIDI file"),
        (b"RIFF0000WAVE", "is not a standard MIDI file"),
        (b"MThd\x00\x00", "is broken or cut off"),
        (smf("00 90 3C 40 83 60 80 3C 40")[:-6], "is broken or cut off"),
        (smf("00 3C 40"), "is broken or cut off"),
        (smf("00 90 3C F0"), "is broken or cut off"),
        (smf("00 FF 59 02 7F 00"), "is broken or cut off"),
        (smf("00 B0 40 7F"), "There are no notes"),
        (smf(), "There are no notes"),
        (smf("00 90 3C 40 10 80 3C 40", division=0), "does not say how long its ticks are"),
    ],
    ids=[
        "empty",
        "sound file",
        "header cut",
        "track cut",
        "no status",
        "status as data",
        "impossible key",
        "pedal only",
        "no track",
        "division 0",
    ],
)
def test_a_file_that_is_no_take_gets_one_plain_sentence(read, content, sentence):
    with pytest.raises(TakeUnreadable, match=sentence) as refused:
        read(content)
    assert "\n" not in str(refused.value)


def test_a_missing_file_a_folder_and_a_huge_file_are_refused(tmp_path):
    with pytest.raises(TakeUnreadable, match="There is no file"):
        read_take(tmp_path / "none.mid")
    with pytest.raises(TakeUnreadable, match="is a folder"):
        read_take(tmp_path)
    huge = tmp_path / "huge.mid"
    with huge.open("wb") as file:
        file.truncate(1 << 30)  # a gigabyte that takes no room
    with pytest.raises(TakeUnreadable, match="too large"):
        read_take(huge)


@given(st.data())
def test_damaged_bytes_are_refused_or_read_but_never_break_the_program(tmp_path_factory, data):
    path = tmp_path_factory.getbasetemp() / "damaged.mid"
    content = bytearray(
        smf("00 FF 51 03 07 A1 20 00 FF 58 04 04 02 18 08", "00 90 3C 40 83 60 3C 00" * 8, kind=1)
    )
    places = st.integers(4, len(content) - 1)
    for _ in range(data.draw(st.integers(1, 8))):
        content[data.draw(places)] = data.draw(st.integers(0, 255))
    path.write_bytes(content[: data.draw(st.integers(0, len(content)))])
    with contextlib.suppress(TakeUnreadable):
        assert read_take(path).note_count > 0


def test_a_written_take_comes_back_within_a_tenth_of_a_millisecond(tmp_path):
    events = [
        on(0.0, 60, 77),
        control(0.12345, 64, 99),
        off(1.23456, 60),
        on(3600.98765, 108),
        off(3601, 108),
    ]
    write_take(tmp_path / "a.mid", events)
    back = read_take(tmp_path / "a.mid").events
    assert [e.message for e in back] == [e.message for e in events]
    assert [e.at_seconds for e in back] == pytest.approx([e.at_seconds for e in events], abs=1e-4)


channel_messages = st.one_of(
    st.tuples(st.integers(0x80, 0xBF), st.integers(0, 127), st.integers(0, 127)),
    st.tuples(st.integers(0xC0, 0xDF), st.integers(0, 127)),
    st.tuples(st.integers(0xE0, 0xEF), st.integers(0, 127), st.integers(0, 127)),
).map(bytes)


@given(st.lists(st.tuples(st.floats(0.0, 5.0), channel_messages), max_size=30))
def test_no_message_is_lost_in_a_file(tmp_path_factory, steps):
    path = tmp_path_factory.getbasetemp() / "round.mid"
    at, events = 0.0, [on(0.0, 60)]
    for wait, message in steps:
        at += wait
        events.append(RawEvent(at, message))
    write_take(path, events)
    back = read_take(path).events
    assert [e.message for e in back] == [e.message for e in events]
    assert [e.at_seconds for e in back] == pytest.approx([e.at_seconds for e in events], abs=1e-4)


def test_the_file_says_when_and_what_was_played(tmp_path):
    moment = datetime(2026, 3, 29, 1, 59, 59, 250_000, tzinfo=timezone(timedelta(hours=2)))
    write_take(tmp_path / "a.mid", [on(0, 60), off(1, 60)], started_at=moment, title="Étude – 3")
    take = read_take(tmp_path / "a.mid")
    assert take.started_at == moment
    assert take.title == "Étude ? 3"


def test_without_a_moment_in_the_file_none_is_made_up(read):
    assert read(smf("00 90 3C 40 10 80 3C 40")).started_at is None


@pytest.mark.parametrize("text", ["Take started at noon", "Take started at 2026-01-01T10:00:00"])
def test_a_moment_without_zone_or_sense_is_not_believed(tmp_path, text):
    track = mido.MidiTrack(
        [
            mido.MetaMessage("text", text=text),
            mido.Message("note_on", note=60),
            mido.Message("note_off", note=60, time=10),
        ]
    )
    mido.MidiFile(tracks=[track]).save(tmp_path / "a.mid")
    assert read_take(tmp_path / "a.mid").started_at is None


def test_another_reader_finds_the_same_notes_at_the_same_times(tmp_path):
    # Oracle: mido's own playing order with its own tempo arithmetic.
    events = [on(0.0, 60), on(0.3333, 64), off(0.5, 60), off(0.75, 64), control(0.8, 67, 1)]
    write_take(tmp_path / "a.mid", events, started_at=datetime(2026, 1, 1, tzinfo=UTC))
    now, found = 0.0, []
    for message in mido.MidiFile(tmp_path / "a.mid"):
        now += message.time
        if not message.is_meta:
            found.append((now, bytes(message.bytes())))
    assert [m for _, m in found] == [e.message for e in events]
    assert [t for t, _ in found] == pytest.approx([e.at_seconds for e in events], abs=1e-4)


def test_a_file_that_cannot_be_written_whole_leaves_the_old_one(tmp_path, monkeypatch):
    path = tmp_path / "a.mid"
    write_take(path, [on(0, 60), off(1, 60)])
    before = path.read_bytes()

    def full_disk(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full_disk)
    with pytest.raises(OSError, match="No space left"):
        write_take(path, [on(0, 72), off(1, 72)])
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]
