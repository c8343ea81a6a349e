from __future__ import annotations

from collections import Counter
from pathlib import Path

import mido
import pytest

from companion.errors import ScoreUnreadable
from companion.resources import sample_scores_folder
from companion.score.files.conversion import GUESSED_NOTATION
from companion.score.reading.prepare import list_parts, prepare_score
from companion.score.reading.reader import read_score

KERN = """\
!!!OTL: Small piece
!!!COM: Nobody, Anna
**kern\t**kern
*clefF4\t*clefG2
*M4/4\t*M4/4
=1\t=1
1C\t4c
.\t4d
.\t4e
.\t4f
=2\t=2
1G\t[1b
=3\t=3
1C\t1b]
==\t==
*-\t*-
"""
ABC = "X:1\nT:Small tune\nC:Nobody\nM:3/4\nL:1/8\nK:G\n|:G2 A2 B2|c3 d B2|[CEG]6:|\n"


def written(folder, name, text):
    path = folder / name
    path.write_text(text)
    return path


def midi_file(folder, *tracks, name="take.mid"):
    """A file of tracks of (tick, pitch, ticks long) at 480 ticks a quarter."""
    file = mido.MidiFile(ticks_per_beat=480)
    for notes in tracks:
        events = [(tick, "note_on", pitch) for tick, pitch, _ in notes]
        events += [(tick + length, "note_off", pitch) for tick, pitch, length in notes]
        track = mido.MidiTrack()
        now = 0
        for tick, kind, pitch in sorted(events):
            track.append(mido.Message(kind, note=pitch, velocity=64, time=tick - now))
            now = tick
        file.tracks.append(track)
    path = folder / name
    file.save(path)
    return path


def test_a_humdrum_score_is_read_with_both_hands_and_its_ties(tmp_path):
    score = read_score(written(tmp_path, "small.krn", KERN))
    assert score.title == "Small piece"
    assert Counter((n.pitch, n.staff, n.duration_quarters) for n in score.notes) == Counter(
        [
            *((60, 1, 1), (62, 1, 1), (64, 1, 1), (65, 1, 1), (71, 1, 8)),
            *((48, 2, 4), (55, 2, 4), (48, 2, 4)),
        ]
    )


def test_an_abc_tune_is_read_with_its_repeat(tmp_path):
    score = read_score(written(tmp_path, "small.abc", ABC))
    assert (score.title, score.composer) == ("Small tune", "Nobody")
    assert [n.pitch for n in score.notes] == [67, 69, 71, 72, 74, 71, 60, 64, 67]
    assert score.playing_order == (0, 1, 2, 0, 1, 2)


def test_an_mei_score_is_the_same_as_the_musicxml_it_was_made_from(tmp_path):
    verovio = pytest.importorskip("verovio")
    verovio.enableLog(verovio.LOG_OFF)
    source = sample_scores_folder() / "the_footbridge.musicxml"
    toolkit = verovio.toolkit()
    toolkit.loadFile(str(source))
    path = written(tmp_path, "small.mei", toolkit.getMEI({}))
    ours, theirs = read_score(source), read_score(path)
    assert places(theirs) == places(ours)
    assert "footbridge" in theirs.title.lower()


def places(score):
    return Counter(
        (note.measure_index, note.measure_offset_quarters, note.pitch)
        for note in score.notes
        if not note.grace
    )


def test_a_midi_file_is_read_on_a_grid_and_says_that_its_notation_is_a_guess(tmp_path):
    right = [(tick * 480 + 7, 60 + tick, 470) for tick in range(4)]  # a little late and short
    left = [(0, 48, 1910)]
    score = read_score(midi_file(tmp_path, right, left))
    assert GUESSED_NOTATION in score.remarks
    assert [(n.onset_quarters, n.pitch) for n in score.notes if n.staff == 1] == [
        (0, 60),
        (1, 61),
        (2, 62),
        (3, 63),
    ]
    assert {n.pitch: n.hand.value for n in score.notes}[48] == "left"


def test_the_hands_of_a_midi_file_of_one_track_are_guessed_by_register(tmp_path):
    notes = [(0, 36, 480), (0, 84, 480), (480, 40, 480), (480, 80, 480)]
    score = read_score(midi_file(tmp_path, notes))
    assert {n.pitch: n.hand.value for n in score.notes} == {
        36: "left",
        40: "left",
        80: "right",
        84: "right",
    }


def test_a_midi_file_with_a_pause_of_weeks_is_refused(tmp_path):
    path = midi_file(tmp_path, [(0, 60, 480), (200_000_000, 62, 480)])
    with pytest.raises(ScoreUnreadable, match="far too long"):
        read_score(path)


def test_preparing_a_converted_score_twice_gives_the_same_parts(tmp_path):
    path = written(tmp_path, "small.krn", KERN)
    assert list_parts(path) == list_parts(path)
    (choice,) = list_parts(path)
    assert prepare_score(path, choice.part_id).part_id == choice.part_id


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("broken.krn", "**kern\n4c\n4zz\n*v\n*-\n"),
        ("broken.abc", "X:1\nK:C\n[[[|:::||4/0 z999999999999\n"),
        ("broken.mid", "MThd\0\0\0\6\0\1\0\1\1MTrk"),
        ("broken.mei", "<mei xmlns='http://www.music-encoding.org/ns/mei'><music/></mei>"),
        ("laughs.mei", "<!DOCTYPE m [<!ENTITY a 'b'>]><mei><music>&a;</music></mei>"),
    ],
)
def test_broken_sources_are_refused_in_one_sentence(tmp_path, name, text):
    with pytest.raises(ScoreUnreadable, match=Path(name).stem) as refusal:
        read_score(written(tmp_path, name, text))
    assert "\n" not in str(refusal.value)
