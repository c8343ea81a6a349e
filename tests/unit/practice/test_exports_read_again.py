"""What was exported, read again by other libraries: the values are those that were exported."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import mido
import pytest
from music21 import midi

from companion.demo.takes import as_take, demo_takes
from companion.errors import HistoryUnavailable
from companion.history.results import FIGURES, Stretch
from companion.midi.files import read_take
from companion.practice.exports import (
    export_results_csv,
    export_take_midi,
    export_takes_csv,
    take_paths,
)
from companion.practice.results import work_out_take
from companion.resources import sample_scores_folder
from tests.unit.practice.practice_examples import a_map, a_score, played
from tests.unit.storage.history_examples import MOMENT, a_take

TICK_SECONDS = 0.5 / 9600  # 120 quarters a minute, 9600 ticks a quarter: see midi/files.py


@pytest.fixture(scope="module")
def take():
    """A demo take with pedal, chords and mistakes."""
    score = sample_scores_folder() / "evening_by_the_weir.musicxml"
    newest = demo_takes(score, now=MOMENT)[-1]
    return replace(as_take(newest, piece_id="piece", zone="Europe/Berlin"), name="Am Wehr, abends")


@pytest.fixture
def file(take, tmp_path):
    path = tmp_path / "take.mid"
    export_take_midi(path, take)
    return path


def test_mido_reads_every_message_of_a_take_at_its_time(take, file):
    now, read = 0.0, []
    for message in mido.MidiFile(file):
        now += message.time
        if not message.is_meta:
            read.append((now, bytes(message.bytes())))
    assert [message for _, message in read] == [event.message for event in take.events]
    for (seconds, _), event in zip(read, take.events, strict=True):
        assert seconds == pytest.approx(event.at_seconds, abs=TICK_SECONDS)


def test_music21_reads_every_note_of_a_take_at_its_time(take, file):
    read = midi.MidiFile()
    read.open(str(file))
    read.read()
    read.close()
    (track,) = read.tracks
    ticks, struck = 0, []
    for event in track.events:
        if event.isDeltaTime():
            ticks += event.time
        elif event.isNoteOn():
            struck.append((ticks * TICK_SECONDS, event.pitch, event.velocity))
    wanted = [
        (event.at_seconds, event.message[1], event.message[2])
        for event in take.events
        if event.message[0] & 0xF0 == 0x90 and event.message[2]
    ]
    assert [stroke[1:] for stroke in struck] == [stroke[1:] for stroke in wanted]
    for (seconds, *_), (wanted_seconds, *_) in zip(struck, wanted, strict=True):
        assert seconds == pytest.approx(wanted_seconds, abs=TICK_SECONDS)


def test_a_take_comes_back_with_its_moment_and_its_name(take, file):
    back = read_take(file)
    assert back.started_at == take.started_at
    assert back.title == take.name
    assert back.note_count == take.note_count


def test_every_figure_of_a_table_comes_back(tmp_path):
    take = a_take("a", events=played(a_score(), wrong=("n3", "n9")), name="x")
    worked = work_out_take(a_score(), a_map(), take, "basis")
    names = {Stretch.of(s): f'{s.name}, "so",\nto say; =1' for s in a_map().sections}
    path = tmp_path / "results.csv"
    export_results_csv(path, worked.results.sections, names)
    with path.open(encoding="utf-8-sig", newline="") as text:
        rows = list(csv.DictReader(text, strict=True))
    assert len(rows) == len(worked.results.sections) == 2
    for row, result in zip(rows, worked.results.sections, strict=True):
        assert row["section"] == names[result.stretch]
        assert datetime.fromisoformat(row["started_at"]) == result.started_at
        for name in FIGURES:
            value = getattr(result, name)
            if value is None:
                assert row[name] == "", name
            elif isinstance(value, bool):
                assert row[name] == ("yes" if value else "no"), name
            elif isinstance(value, int | float):
                assert float(row[name]) == pytest.approx(value, rel=1e-5, abs=1e-9), name


def test_a_table_that_cannot_be_written_leaves_the_older_one(tmp_path, monkeypatch):
    path = tmp_path / "takes.csv"
    export_takes_csv(path, [a_take("old")])
    before = path.read_bytes()

    def full_disk(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full_disk)
    with pytest.raises(HistoryUnavailable, match="No space left"):
        export_takes_csv(path, [a_take("new")])
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_names_of_exported_takes_tell_when_they_were_played_and_replace_nothing(tmp_path):
    takes = [a_take("a"), a_take("b"), a_take("c", minutes=5)]
    (tmp_path / "take 2026-03-02 18-35-00.mid").touch()
    assert [path.name for path in take_paths(tmp_path, takes)] == [
        "take 2026-03-02 18-30-00.mid",
        "take 2026-03-02 18-30-00 (2).mid",
        "take 2026-03-02 18-35-00 (2).mid",
    ]
