"""Themes of our own, put together to pieces of a known form: demo data for the form tests."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from companion.analysis.spelling import fifths_of_name, name_of_fifths
from companion.score.model import Measure, Position, PrintedCue, Score, ScoreNote
from tests.unit.analysis.typed_music import midi_pitch

# measures of four quarters: the right hand's notes, then the left hand's, in equal lengths
FIRST = (
    ("C5 E5 G5 E5", "C3 G3"), ("D5 F5 B4 D5", "G2 F3"), ("E5 G5 C6 G5", "C3 E3"),
    ("A5 G5", "F3 C3"), ("F5 A5 D5 F5", "D3 A3"), ("E5 D5 C5 B4", "G3 F3"),
    ("C5 D5 E5 F5", "E3 D3"), ("D5", "G2"),
)  # fmt: skip
SECOND = (
    ("E5 D#5 E5 F5 E5 D5 C5 B4", "C4 C4"), ("A4 B4 C5 A4 G4 A4 B4 G4", "A3 E3"),
    ("F4 G4 A4 F4 E4 F4 G4 E4", "D3 C3"), ("D4 E4 F4 D4 B4 C5 D5 B4", "B2 G2"),
    ("C5 G4 E4 G4 C5 G4 E4 G4", "E3 C3"), ("D5 A4 F4 A4 D5 A4 F4 A4", "F3 D3"),
    ("B4 G4 D4 G4 B4 G4 F4 G4", "G3 B3"), ("C5", "C3"),
)  # fmt: skip
AWAY = (
    ("Ab4 C5", "F3 F3 F3 F3"), ("Bb4 Db5", "Gb3 Gb3 Gb3 Gb3"), ("C5 Eb5", "Ab3 F3 Ab3 F3"),
    ("Db5 F5", "Bb3 Gb3 Bb3 Gb3"), ("B4 G#4", "E3 E3 G#3 E3"), ("C#5 A4", "F#3 F#3 C#3 F#3"),
    ("D5 Bb4", "G3 G3 D3 G3"), ("F5 B4", "G3 D3 B2 G2"),
)  # fmt: skip

Music = Sequence[tuple[str, str]]


def moved(music: Music, fifths: int) -> Music:
    """The same music in another key, moved along the line of fifths."""

    def one(text: str) -> str:
        return " ".join(_moved_note(note, fifths) for note in text.split())

    return tuple((one(right), one(left)) for right, left in music)


def _moved_note(note: str, fifths: int) -> str:
    name, octave = note.rstrip("0123456789"), int(note[-1])
    new = name_of_fifths(fifths_of_name(name) + fifths)
    wanted = midi_pitch(note) + (7 * fifths + 6) % 12 - 6
    nearest = min(
        (octave - 1, octave, octave + 1), key=lambda o: abs(midi_pitch(f"{new}{o}") - wanted)
    )
    return f"{new}{nearest}"


def varied(music: Music) -> Music:
    """The same music with its right hand broken into twice as many notes."""

    def broken(text: str) -> str:
        notes = text.split()
        return " ".join(f"{note} {note}" for note in notes)

    return tuple((broken(right), left) for right, left in music)


def composed(*parts: Music, fifths: int = 0, cues: Sequence[PrintedCue] = ()) -> Score:
    """The parts one after the other as a piece for two staves in common time."""
    music = [measure for part in parts for measure in part]
    notes: list[ScoreNote] = []
    for index, hands in enumerate(music):
        for staff, text in enumerate(hands, 1):
            names = text.split()
            length = Fraction(4, len(names))
            for place, spelling in enumerate(names):
                notes.append(
                    ScoreNote(
                        note_id=f"n{index}-{staff}-{place}",
                        onset_quarters=4 * index + place * length,
                        duration_quarters=length,
                        pitch=midi_pitch(spelling),
                        staff=staff,
                        measure_index=index,
                        measure_offset_quarters=place * length,
                        spelling=spelling,
                    )
                )
    notes.sort(key=lambda note: (note.onset_quarters, note.pitch))
    measures = tuple(
        Measure(
            index=index, number=str(index + 1), start_quarters=Fraction(4 * index),
            duration_quarters=Fraction(4), key_fifths=fifths,
        )
        for index in range(len(music))
    )  # fmt: skip
    return Score(
        title="Demo", composer="", measures=measures, notes=tuple(notes), cues=tuple(cues),
        content_hash="demo",
    )  # fmt: skip


def at(measure: int) -> Position:
    return Position(measure)
