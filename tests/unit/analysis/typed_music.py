"""Small pieces of our own, typed as chords of written notes: demo data for the harmony tests."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from companion.analysis.spelling import fifths_of_name, name_of_fifths
from companion.score.model import Measure, Score, ScoreNote

_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def midi_pitch(spelling: str) -> int:
    name, octave = spelling.rstrip("0123456789"), int(spelling.lstrip("ABCDEFG#b"))
    signs = name.count("#") - name[1:].count("b")
    return 12 * (octave + 1) + _STEPS[name[0]] + signs


def chordal(chords: str, *, fifths: int = 0, beats: int = 4, each: Fraction | int = 1) -> Score:
    """A score of chords that each last ``each`` quarters, written as "C3 G3 E4 C5 | ..."."""
    length = Fraction(each)
    notes = []
    for number, chord in enumerate(chords.split("|")):
        onset = number * length
        for place, spelling in enumerate(chord.split()):
            notes.append(
                ScoreNote(
                    note_id=f"n{number}-{place}",
                    onset_quarters=onset,
                    duration_quarters=length,
                    pitch=midi_pitch(spelling),
                    staff=2 if place == 0 else 1,
                    measure_index=int(onset // beats),
                    measure_offset_quarters=onset % beats,
                    spelling=spelling,
                )
            )
    total = length * len(chords.split("|"))
    measures = tuple(
        Measure(
            index=index,
            number=str(index + 1),
            start_quarters=Fraction(index * beats),
            duration_quarters=Fraction(beats),
            beats=beats,
            key_fifths=fifths,
        )
        for index in range(-(-total.numerator // (total.denominator * beats)))
    )
    return Score(title="Demo", composer="", measures=measures, notes=tuple(notes))


def transposed(score: Score, fifths: int) -> Score:
    """The score moved along the line of fifths, signature and all, into the nearest octave."""
    semitones = (7 * fifths + 6) % 12 - 6

    def moved(note: ScoreNote) -> ScoreNote:
        name = name_of_fifths(fifths_of_name(note.spelling) + fifths)
        pitch = note.pitch + semitones
        spelling = f"{name}{round((pitch - midi_pitch(name + '0')) / 12)}"
        return replace(note, pitch=pitch, spelling=spelling)

    return replace(
        score,
        notes=tuple(moved(note) for note in score.notes),
        measures=tuple(replace(m, key_fifths=m.key_fifths + fifths) for m in score.measures),
    )
