"""Numerals as they stand in tables of figured bass: triads 6, 6/4; sevenths 7, 6/5, 4/3, 4/2."""

from dataclasses import replace

import pytest

from companion.analysis.chords import Chord
from companion.analysis.harmony import Harmony, analyse_harmony
from companion.analysis.numerals import written_numeral
from companion.analysis.spelling import Key, Mode
from tests.unit.analysis.typed_music import chordal


@pytest.mark.parametrize(
    ("degree", "quality", "inversion", "mode", "written"),
    [
        ("I", "maj", 0, Mode.MAJOR, "I"),
        ("I", "maj", 1, Mode.MAJOR, "I6"),
        ("I", "maj", 2, Mode.MAJOR, "I6/4"),
        ("V", "dom7", 0, Mode.MAJOR, "V7"),
        ("V", "dom7", 1, Mode.MAJOR, "V6/5"),
        ("V", "dom7", 2, Mode.MINOR, "V4/3"),
        ("V", "dom7", 3, Mode.MAJOR, "V4/2"),
        ("II", "min7", 1, Mode.MAJOR, "ii6/5"),
        ("V/V", "dom7", 2, Mode.MAJOR, "V4/3/V"),
        ("V/V", "dom7", 1, Mode.MAJOR, "V6/5/V"),
        ("VII/V", "dim7", 0, Mode.MAJOR, "vii°7/V"),
        ("VII", "dim7", 0, Mode.MINOR, "vii°7"),
        ("II", "hdim7", 2, Mode.MINOR, "iiø4/3"),
        ("bII", "maj", 1, Mode.MINOR, "N6"),
        ("It", "It", 0, Mode.MINOR, "It6"),
        ("Fr", "Fr", 0, Mode.MINOR, "Fr4/3"),
        ("Ger", "Ger", 0, Mode.MINOR, "Ger6/5"),
        ("bIII", "aug", 0, Mode.MINOR, "III+"),
    ],
)
def test_a_chord_is_written_as_in_the_tables(
    degree: str, quality: str, inversion: int, mode: Mode, written: str
) -> None:
    assert written_numeral(Chord(degree, quality), inversion, mode) == written


def test_a_span_is_written_with_its_figures() -> None:
    score = chordal("Eb3 G3 Bb3 Eb4 | F3 Ab3 Bb3 D4 | G3 Bb3 Eb4 G4 | Eb3 G3 Bb3 Eb4", fifths=-3)
    spans = analyse_harmony(score).spans
    assert [(span.key.spoken_name, span.written) for span in spans[:2]] == [
        ("E flat major", "I"),
        ("E flat major", "V4/3"),
    ]


def test_a_key_that_is_only_touched_is_passing() -> None:
    spans = analyse_harmony(chordal("C3 G3 E4 C5 | G2 F3 D4 B4 | C3 G3 E4 C5 | F3 A3 F4 C5")).spans
    touched = (spans[0], replace(spans[1], key=Key.from_name("G")), *spans[2:])
    areas = Harmony(spans=touched).key_areas
    assert [(area.key.name, area.passing) for area in areas] == [
        ("C", False), ("G", True), ("C", False),
    ]  # fmt: skip


def test_a_key_that_stays_is_not_passing() -> None:
    home = "C3 G3 E4 C5 | G2 F3 D4 B4 | C3 G3 E4 C5 | C3 G3 E4 C5 |"
    away = "G3 B3 D4 G4 | C3 A3 E4 A4 | D3 A3 F#4 C5 | G3 B3 D4 G4 |" * 5
    areas = analyse_harmony(chordal((home * 2 + away).rstrip("|"))).key_areas
    assert [(area.key.name, area.passing) for area in areas] == [("C", False), ("G", False)]
