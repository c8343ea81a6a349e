"""Names on the line of fifths, chords and figures, against tables of music theory."""

import music21
import pytest

from companion.analysis.chords import (
    MEMBERS,
    QUALITIES,
    Chord,
    degree_of_fifths,
    fifths_of_degree,
    quality_in_words,
)
from companion.analysis.numerals import bass_fifths, cadential_as_dominant, figures, numeral
from companion.analysis.spelling import (
    Key,
    Mode,
    fifths_of_name,
    name_of_fifths,
    nearest_fifths,
    pitch_class,
)

MAJOR, MINOR = Mode.MAJOR, Mode.MINOR
C = 0


def notes_from_bass(chord: Chord, inversion: int) -> list[str]:
    notes = chord.notes_fifths(C)
    return [name_of_fifths(note) for note in (*notes[inversion:], *notes[:inversion])]


@pytest.mark.parametrize(
    ("degree", "quality", "inversion", "mode", "written", "notes"),
    # the figure table of common-practice theory, in C, bass first
    [
        ("I", "maj", 0, MAJOR, "I", "C E G"),
        ("I", "maj", 1, MAJOR, "I6", "E G C"),
        ("I", "maj", 2, MAJOR, "I64", "G C E"),
        ("V", "dom7", 0, MAJOR, "V7", "G B D F"),
        ("V", "dom7", 1, MAJOR, "V65", "B D F G"),
        ("V", "dom7", 2, MAJOR, "V43", "D F G B"),
        ("V", "dom7", 3, MAJOR, "V42", "F G B D"),
        ("II", "min7", 1, MAJOR, "ii65", "F A C D"),
        ("II", "hdim7", 0, MINOR, "iiø7", "D F Ab C"),
        ("VII", "dim7", 0, MINOR, "viio7", "B D F Ab"),
        ("V/V", "dom7", 0, MAJOR, "V7/V", "D F# A C"),
        ("V/V", "dom7", 1, MAJOR, "V65/V", "F# A C D"),
        ("VII/V", "dim7", 0, MAJOR, "viio7/V", "F# A C Eb"),
        ("bII", "maj", 1, MINOR, "bII6", "F Ab Db"),
        ("It", "It", 0, MINOR, "It6", "Ab C F#"),
        ("Fr", "Fr", 0, MINOR, "Fr43", "Ab C D F#"),
        ("Ger", "Ger", 0, MINOR, "Ger65", "Ab C Eb F#"),
        ("V/II", "dom7", 0, MAJOR, "V7/ii", "A C# E G"),
        ("bIII", "maj", 0, MINOR, "III", "Eb G Bb"),
        ("bVI", "maj", 0, MINOR, "VI", "Ab C Eb"),
        ("bVI", "maj", 0, MAJOR, "bVI", "Ab C Eb"),
        ("V/bVI", "dom7", 0, MINOR, "V7/VI", "Eb G Bb Db"),
        ("bIII", "aug", 0, MINOR, "III+", "Eb G B"),
        ("I", "maj7", 0, MAJOR, "I7", "C E G B"),
    ],
)
def test_numerals_and_notes_are_those_of_the_figure_table(
    degree: str, quality: str, inversion: int, mode: Mode, written: str, notes: str
) -> None:
    chord = Chord(degree, quality)
    assert numeral(chord, inversion, mode) == written
    assert notes_from_bass(chord, inversion) == notes.split()
    assert name_of_fifths(bass_fifths(chord, inversion)) == notes.split()[0]


TRIADS = [
    (degree, quality)
    for degree in ("I", "II", "bII", "bIII", "IV", "V", "bVI", "VII")
    for quality in ("maj", "min", "dim")
]
# music21 takes the sevenths of altered degrees from the scale; those of these do not depend on it
SEVENTHS = [
    ("II", "min7"), ("II", "hdim7"), ("V", "dom7"), ("VII", "dim7"), ("VII", "hdim7"),
    ("V/V", "dom7"), ("V/IV", "dom7"), ("VII/V", "dim7"), ("VII/II", "dim7"), ("II/V", "min7"),
    ("It", "It"), ("Ger", "Ger"), ("Fr", "Fr"), ("Ger/V", "Ger"),
]  # fmt: skip


@pytest.mark.parametrize("mode", [MAJOR, MINOR])
@pytest.mark.parametrize(("degree", "quality"), [*TRIADS, *SEVENTHS])
def test_music21_reads_the_numeral_as_the_same_notes(mode: Mode, quality: str, degree: str) -> None:
    chord = Chord(degree, quality)
    read = music21.roman.RomanNumeral(
        numeral(chord, 0, mode),
        music21.key.Key("C" if mode is MAJOR else "c"),
        sixthMinor=music21.roman.Minor67Default.QUALITY,
        seventhMinor=music21.roman.Minor67Default.QUALITY,
    )
    ours = {pitch_class(note) for note in chord.notes_fifths(C)}
    assert {pitch.pitchClass for pitch in read.pitches} == ours


@pytest.mark.parametrize("fifths", range(-15, 20))
def test_names_on_the_line_of_fifths_go_there_and_back(fifths: int) -> None:
    name = name_of_fifths(fifths)
    assert fifths_of_name(name) == fifths
    assert pitch_class(fifths) == music21.pitch.Pitch(name.replace("b", "-")).pitchClass


@pytest.mark.parametrize("fifths", range(-12, 13))
def test_degrees_go_there_and_back(fifths: int) -> None:
    assert fifths_of_degree(degree_of_fifths(fifths)) == fifths


@pytest.mark.parametrize("text", ["H", "", "C#b", "c"])
def test_what_is_no_note_name_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="no note name"):
        fifths_of_name(text)


@pytest.mark.parametrize("signature", range(-7, 8))
def test_unspelled_notes_of_the_scale_get_the_names_of_the_signature(signature: int) -> None:
    scale = range(signature - 1, signature + 6)
    for fifths in scale:
        assert nearest_fifths(pitch_class(fifths) + 60, signature + 2) == fifths


@pytest.mark.parametrize("name", ["C", "c#", "Eb", "f", "Gb", "d#"])
def test_keys_go_to_their_names_and_back(name: str) -> None:
    key = Key.from_name(name)
    assert key.name == name
    theirs = music21.key.Key(name.replace("b", "-"))
    assert key.signature_fifths == theirs.sharps
    assert key.mode == theirs.mode


def test_keys_are_spoken_in_words() -> None:
    assert Key.from_name("Eb").spoken_name == "E flat major"
    assert Key.from_name("f#").spoken_name == "F sharp minor"


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ("I64", "V7", ("V64", "V7")),
        ("i64", "V", ("V64", "V53")),
        ("I64/V", "V/V", ("V64/V", "V53/V")),
        ("I64", "IV", None),
        ("I6", "V", None),
        ("I64/V", "V", None),
    ],
)
def test_a_cadential_six_four_can_be_named_as_a_dominant(
    first: str, second: str, expected: tuple[str, str] | None
) -> None:
    assert cadential_as_dominant(first, second) == expected


def test_every_quality_has_words_and_as_many_figures_as_members() -> None:
    for quality in QUALITIES:
        assert quality_in_words(quality)
        if quality not in ("It", "Ger", "Fr"):
            assert len({figures(quality, n) for n in range(len(MEMBERS[quality]))}) == len(
                MEMBERS[quality]
            )
