"""Numerals as people write them. The figures are those of thoroughbass (common practice)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.analysis.chords import AUGMENTED_SIXTHS, QUALITIES, SEVENTHS, Chord
from companion.analysis.numerals import numeral
from companion.analysis.reading_numerals import read_numeral
from companion.analysis.spelling import Mode


@pytest.mark.parametrize(
    ("text", "degree", "quality", "inversion"),
    [
        ("I", "I", "maj", 0),
        ("I5/3", "I", "maj", 0),
        ("I6", "I", "maj", 1),
        ("I6/4", "I", "maj", 2),
        ("Cad64", "I", "maj", 2),
        ("V7", "V", "dom7", 0),
        ("V65", "V", "dom7", 1),
        ("V6/5", "V", "dom7", 1),
        ("V 4/3", "V", "dom7", 2),
        ("V4/2", "V", "dom7", 3),
        ("V2", "V", "dom7", 3),
        ("V6/5/V", "V/V", "dom7", 1),
        ("vii°7", "VII", "dim7", 0),
        ("viio7/V", "VII/V", "dim7", 0),
        ("viiø7", "VII", "hdim7", 0),
        ("ii6/5", "II", "min7", 1),
        ("N6", "bII", "maj", 1),
        ("N", "bII", "maj", 1),
        ("Ger6", "Ger", "Ger", 0),
        ("Ger6/5", "Ger", "Ger", 0),
        ("Fr4/3", "Fr", "Fr", 0),
        ("It6", "It", "It", 0),
        ("♭VI", "bVI", "maj", 0),
    ],
)
def test_a_numeral_is_read_in_major(text, degree, quality, inversion):
    found = read_numeral(text, Mode.MAJOR)
    assert (found.chord, found.inversion) == (Chord(degree, quality), inversion)


@pytest.mark.parametrize(
    ("text", "degree", "quality"),
    [("i", "I", "min"), ("VI", "bVI", "maj"), ("III", "bIII", "maj"), ("VII", "bVII", "maj")],
)
def test_in_minor_the_numerals_count_in_the_minor_scale(text, degree, quality):
    assert read_numeral(text, Mode.MINOR).chord == Chord(degree, quality)


@pytest.mark.parametrize("text", ["", "H", "VIII", "V99", "hello", "/V", "V/", "I/I/I/I"])
def test_what_is_no_numeral_is_none(text):
    assert read_numeral(text, Mode.MAJOR) is None


@given(
    st.sampled_from(list(Mode)),
    st.sampled_from(QUALITIES),
    st.sampled_from(("I", "II", "bIII", "III", "IV", "V", "bVI", "VI", "VII")),
    st.sampled_from(("", "II", "III", "IV", "V", "VI", "bVII")),
    st.integers(0, 3),
)
def test_what_is_written_is_read_as_the_same_numeral(mode, quality, head, target, inversion):
    if quality in AUGMENTED_SIXTHS:
        head, inversion = quality, 0
    elif quality not in SEVENTHS:
        inversion = min(inversion, 2)
    chord = Chord(head + (f"/{target}" if target else ""), quality)
    written = numeral(chord, inversion, mode)
    found = read_numeral(written, mode)
    assert numeral(found.chord, found.inversion, mode) == written
