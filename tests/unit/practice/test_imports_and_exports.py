import csv
import os
from datetime import UTC, datetime, timedelta
from itertools import permutations
from pathlib import Path

import mido
import pytest

from companion.errors import Cancelled, HistoryUnavailable
from companion.history.edits import DeleteTakes
from companion.history.fingerprints import same_playing
from companion.history.model import RawEvent, TakeSource
from companion.history.summaries import summarise_sections
from companion.midi.files import write_take
from companion.practice.exports import (
    export_days_csv,
    export_results_csv,
    export_take_midi,
    export_takes_csv,
)
from companion.practice.imports import import_files, read_recorded_file
from companion.storage.history_file import HistoryFile
from tests.unit.practice.practice_examples import a_score, played
from tests.unit.storage.history_examples import MOMENT, a_piece, a_result, a_stretch, a_take

ZONE = "Europe/Berlin"


@pytest.fixture
def recording(tmp_path):
    """Two takes with ten seconds of silence between them, without a date inside."""
    events = played(a_score())
    again = [RawEvent(e.at_seconds + 30.0, e.message) for e in played(a_score(), wrong=("n3",))]
    path = tmp_path / "evening.mid"
    write_take(path, [*events, *again])
    return path


def bring_in(history, *paths, **more):
    return import_files(history, paths, piece_id="piece", zone=ZONE, **more)


def test_a_recording_is_cut_into_takes_at_its_silences(history, recording):
    first_note_at = datetime(2026, 2, 27, 20, 15, tzinfo=UTC)
    outcome = bring_in(history, recording, first_note_at=first_note_at)
    assert [take.started_at for take in outcome.saved] == [
        first_note_at,
        first_note_at + timedelta(seconds=30),
    ]
    assert [take.note_count for take in outcome.saved] == [40, 40]
    assert {take.source for take in outcome.saved} == {TakeSource.FILE}
    assert {take.name for take in outcome.saved} == {"evening"}
    first = history.take(outcome.saved[0].take_id)
    assert same_playing(first.events, played(a_score()))
    assert len(history.takes_of("piece")) == 2


def test_a_longer_silence_leaves_one_take(history, recording):
    assert len(bring_in(history, recording, silence_seconds=30.0).saved) == 1


def test_without_a_date_the_file_was_saved_when_the_playing_ended(recording):
    saved_at = datetime(2026, 1, 10, 18, 0, tzinfo=UTC)
    os.utime(recording, (saved_at.timestamp(), saved_at.timestamp()))
    recorded = read_recorded_file(recording, piece_id=None, zone=ZONE)
    assert recorded.moment_is_guessed
    last = recorded.takes[-1]
    assert abs(last.ended_at - saved_at) < timedelta(seconds=0.01)


def test_our_own_files_say_when_they_were_played(history, tmp_path):
    take = a_take(events=played(a_score()), started_at=MOMENT)
    export_take_midi(tmp_path / "take.mid", take)
    recorded = read_recorded_file(tmp_path / "take.mid", piece_id=None, zone=ZONE)
    assert not recorded.moment_is_guessed
    assert recorded.takes[0].started_at == MOMENT


def test_the_same_recording_is_not_taken_twice_and_that_is_told(history, recording, tmp_path):
    bring_in(history, recording)
    copy = tmp_path / "copy.mid"
    copy.write_bytes(recording.read_bytes())
    outcome = bring_in(history, copy)
    assert outcome.saved == ()
    assert outcome.known_already == 2
    assert [refused.sentence for refused in outcome.refused] == [
        "“copy.mid” is in your history already; it was left out."
    ]
    assert len(history.takes_of("piece")) == 2


def test_only_the_new_takes_of_a_longer_recording_are_taken(history, recording, tmp_path):
    first = tmp_path / "first.mid"
    write_take(first, played(a_score()))
    bring_in(history, first)
    outcome = bring_in(history, recording)
    assert (len(outcome.saved), outcome.known_already, outcome.refused) == (1, 1, ())


def test_an_exported_take_is_known_when_it_comes_back(history, tmp_path):
    take = a_take(events=played(a_score()))
    history.save_take(take)
    export_take_midi(tmp_path / "take.mid", take)
    assert bring_in(history, tmp_path / "take.mid").known_already == 1


def test_a_take_in_the_bin_may_be_imported_again(history, recording):
    saved = bring_in(history, recording).saved
    history.apply(DeleteTakes(tuple(take.take_id for take in saved)))
    assert len(bring_in(history, recording).saved) == 2


def test_a_broken_file_does_not_stop_the_others(history, recording, tmp_path):
    broken = tmp_path / "broken.mid"
    broken.write_bytes(b"MThd\x00\x00")
    silent = tmp_path / "silent.mid"
    mido.MidiFile(tracks=[mido.MidiTrack()]).save(silent)
    outcome = bring_in(history, broken, silent, tmp_path / "gone.mid", recording)
    assert len(outcome.saved) == 2
    assert [refused.path.name for refused in outcome.refused] == [
        "broken.mid",
        "silent.mid",
        "gone.mid",
    ]
    assert all(refused.sentence.endswith(".") for refused in outcome.refused)


@pytest.mark.parametrize(
    ("name", "make", "sentence"),
    [
        ("a folder.mid", Path.mkdir, "“a folder.mid” is a folder, not a recorded take."),
        ("pipe.mid", os.mkfifo, "“pipe.mid” is not a file, so there is no take in it."),
        ("gone.mid", lambda _: None, "There is no file “gone.mid”."),
        ("words.mid", lambda p: p.write_text("la"), "“words.mid” is not a standard MIDI file."),
        ("cut.mid", lambda p: p.write_bytes(b"MThd\0\0"), "“cut.mid” is broken or cut off."),
    ],
)
def test_every_file_that_cannot_be_used_is_named(history, tmp_path, name, make, sentence):
    make(tmp_path / name)
    outcome = import_files(history, [tmp_path / name], piece_id=None, zone="UTC")
    assert outcome.sentences == (sentence,)


def test_a_file_without_the_length_of_its_ticks_is_named(history, recording, tmp_path):
    broken = bytearray(recording.read_bytes())
    broken[12:14] = b"\0\0"  # standard MIDI files 1.0: the division is the last word of the head
    path = tmp_path / "timeless.mid"
    path.write_bytes(broken)
    outcome = import_files(history, [path], piece_id=None, zone="UTC")
    assert outcome.sentences == ("“timeless.mid” does not say how long its ticks are.",)


def test_many_files_are_told_in_a_few_sentences(history, recording, tmp_path):
    good = [tmp_path / f"good {n}.mid" for n in range(3)]
    bad = [tmp_path / f"bad {n}.mid" for n in range(5)]
    for path in good:
        path.write_bytes(recording.read_bytes())
    for path in bad:
        path.write_text("no")
    outcome = import_files(history, [*bad, *good], piece_id=None, zone="UTC")
    assert outcome.sentences == (
        "2 takes were imported.",
        "The file does not say when it was played; the date of the file was taken.",
        "2 files are in your history already; they were left out.",
        *(f"“bad {n}.mid” is not a standard MIDI file." for n in range(3)),
        "2 more files could not be used.",
    )


def test_the_order_of_import_makes_no_difference(tmp_path, recording):
    paths = [recording]
    for number in range(2):
        path = tmp_path / f"single {number}.mid"
        write_take(
            path, played(a_score(), first_measure=number), started_at=MOMENT + number * timedelta(1)
        )
        paths.append(path)
    found = []
    for number, order in enumerate(permutations(paths)):
        with HistoryFile(tmp_path / f"{number}" / "history.sqlite3") as history:
            history.save_piece(a_piece())
            bring_in(history, *order)
            takes = [history.take(take.take_id) for take in history.takes_of("piece")]
            found.append([(take.started_at, take.events) for take in takes])
    # "single 0" holds the first take of the recording: one of the two is known, whichever comes
    # second, so only the moments may differ.
    assert all(len(takes) == 3 for takes in found)
    assert len({tuple(sorted(repr(events) for _, events in takes)) for takes in found}) == 1


def test_a_cancelled_import_leaves_whole_files(history, recording, tmp_path):
    other = tmp_path / "other.mid"
    write_take(other, played(a_score(), first_measure=2))

    def stop_at_the_second(progress):
        if progress.done == 1:
            raise Cancelled

    with pytest.raises(Cancelled):
        bring_in(history, recording, other, report=stop_at_the_second)
    assert len(history.takes_of("piece")) == 2


# Exports


def rows_of(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_takes_are_exported_with_local_moments_and_practice_days(tmp_path):
    take = a_take(name="late, slow", remark='he said "again"', started_at=MOMENT)
    export_takes_csv(tmp_path / "takes.csv", [take])
    (row,) = rows_of(tmp_path / "takes.csv")
    assert row["started_at"] == "2026-03-02T18:30:00+01:00"
    assert (row["day"], row["name"]) == ("2026-03-02", "late, slow")
    assert row["remark"] == 'he said "again"'
    assert (row["duration_seconds"], row["recovered"]) == ("0.950", "no")
    assert row["from_memory"] == "no"
    export_takes_csv(tmp_path / "by heart.csv", [a_take(from_memory=True)])
    assert rows_of(tmp_path / "by heart.csv")[0]["from_memory"] == "yes"
    assert (tmp_path / "takes.csv").read_bytes().startswith(b"\xef\xbb\xbf")
    assert (tmp_path / "takes.csv").read_bytes().count(b"\r\n") == 2  # RFC 4180: CRLF


def test_results_are_exported_with_the_name_of_their_section(tmp_path):
    results = [a_result(), a_result(stretch=a_stretch(4, 8))]
    export_results_csv(tmp_path / "results.csv", results, {a_stretch(): "Écho"})
    (row,) = rows_of(tmp_path / "results.csv")
    assert (row["section"], row["take_id"], row["hands"]) == ("Écho", "take", "both")
    assert (row["accuracy"], row["expected"], row["complete"]) == ("0.9", "20", "yes")
    assert row["left_right_offset_ms"] == "-3.25"
    assert row["evenness_sd_ms"] == ""


def test_days_are_exported_one_line_each(tmp_path):
    later = [a_result("b", started_at=MOMENT + timedelta(days=n), accuracy=0.8) for n in (1, 2)]
    summaries = summarise_sections([a_result("a"), *later])
    export_days_csv(tmp_path / "days.csv", summaries.values(), {a_stretch(): "Opening"})
    rows = rows_of(tmp_path / "days.csv")
    assert [(row["day"], row["best_accuracy"]) for row in rows] == [
        ("2026-03-02", "0.9"),
        ("2026-03-03", "0.8"),
        ("2026-03-04", "0.8"),
    ]


def test_words_that_a_spreadsheet_would_take_for_a_formula_are_made_harmless(tmp_path):
    export_takes_csv(tmp_path / "takes.csv", [a_take(name="=HYPERLINK(1)")])
    assert rows_of(tmp_path / "takes.csv")[0]["name"] == "'=HYPERLINK(1)"


def test_an_exported_take_is_a_midi_file_that_others_read(tmp_path):
    take = a_take(events=played(a_score()), name="Täglich")
    export_take_midi(tmp_path / "take.mid", take)
    read = mido.MidiFile(tmp_path / "take.mid")
    struck = [m.note for m in read if m.type == "note_on" and m.velocity]
    assert struck == [e.message[1] for e in take.events if e.message[0] == 0x90]
    assert read.length == pytest.approx(take.events[-1].at_seconds, abs=0.001)


@pytest.mark.parametrize("export", [export_takes_csv, export_take_midi])
def test_a_file_that_cannot_be_written_is_told_in_a_sentence(export, tmp_path):
    what = [a_take()] if export is export_takes_csv else a_take()
    with pytest.raises(HistoryUnavailable, match="cannot be written"):
        export(tmp_path / "no such folder" / "file", what)
