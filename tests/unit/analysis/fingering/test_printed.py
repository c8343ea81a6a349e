"""Printed fingers, against a count in the file itself."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import music21
import pytest

from companion.analysis.fingering.printed import printed_fingers
from companion.resources import sample_scores_folder
from companion.score.reading.reader import read_score
from tests.unit.analysis.running_notes import hand_of, score_with


def test_fingers_of_the_sample_score_are_those_of_its_file():
    path = sample_scores_folder() / "the_footbridge.musicxml"
    in_file = re.findall(r"<fingering[^>]*>(\d)", path.read_text(encoding="utf-8"))
    found = printed_fingers(read_score(path))
    assert sorted(found.values()) == sorted(int(finger) for finger in in_file)
    assert len(found) == 12


def test_fingers_of_a_real_edition_are_as_music21_reads_them():
    path = Path(music21.__file__).parent / "corpus/schumann_clara/polonaise_op1n4.mxl"
    theirs = [
        sign.fingerNumber
        for note in music21.converter.parse(path).recurse().notes
        for sign in note.articulations
        if isinstance(sign, music21.articulations.Fingering)
    ]
    assert sorted(printed_fingers(read_score(path)).values()) == sorted(theirs)


@pytest.mark.parametrize(
    ("text", "finger"), [("3", 3), ("3-2", 3), (" 1 ", 1), ("6", None), ("a", None), ("", None)]
)
def test_texts_of_fingers(text, finger):
    sign = f"<notations><technical><fingering>{text}</fingering></technical></notations>"
    xml = f'<score-partwise><part><note id="r0">{sign}</note></part></score-partwise>'
    score = replace(score_with(hand_of([60])), musicxml=xml.encode())
    assert printed_fingers(score) == ({} if finger is None else {"r0": finger})


def test_alternatives_and_unknown_notes_are_left_out():
    signs = '<fingering alternate="yes">4</fingering><fingering>2</fingering>'
    note = '<note id="{}"><notations><technical>{}</technical></notations></note>'
    xml = f"<score-partwise><part>{note.format('r0', signs)}{note.format('zz', signs)}</part>"
    score = replace(score_with(hand_of([60])), musicxml=f"{xml}</score-partwise>".encode())
    assert printed_fingers(score) == {"r0": 2}


def test_a_score_without_a_file_has_no_printed_fingers():
    assert printed_fingers(score_with(hand_of([60]))) == {}
