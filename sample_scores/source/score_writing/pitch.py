"""Spelled pitches: names, transposition by interval, shifts along a scale."""

from __future__ import annotations

import re
from dataclasses import dataclass

STEPS = "CDEFGAB"
SEMITONES = (0, 2, 4, 5, 7, 9, 11)
SIGNS = {"": 0, "#": 1, "##": 2, "b": -1, "bb": -2}
NAMES = {alter: sign for sign, alter in SIGNS.items()}
SHARP_ORDER = "FCGDAEB"
PITCH = re.compile(r"(?<![A-Za-z0-9_\\:])([a-g])(##|#|bb|b|)(\d)")


@dataclass(frozen=True, slots=True)
class Pitch:
    """A written pitch: ``diatonic`` counts steps from C0, ``alter`` semitones of alteration."""

    diatonic: int
    alter: int

    @property
    def step(self) -> str:
        """Letter name."""
        return STEPS[self.diatonic % 7]

    @property
    def octave(self) -> int:
        """Octave number, middle C begins octave 4."""
        return self.diatonic // 7

    @property
    def midi(self) -> int:
        """MIDI note number, middle C is 60."""
        return 12 * (self.octave + 1) + SEMITONES[self.diatonic % 7] + self.alter

    @property
    def text(self) -> str:
        """Name in our notation, ``bb4``."""
        return f"{self.step.lower()}{NAMES[self.alter]}{self.octave}"


def pitch(text: str) -> Pitch:
    """Read one name such as ``f#5``."""
    found = PITCH.fullmatch(text)
    if found is None:
        raise ValueError(f"no pitch: {text!r}")
    step, sign, octave = found.groups()
    return Pitch(STEPS.index(step.upper()) + 7 * int(octave), SIGNS[sign])


def key_alter(step: str, fifths: int) -> int:
    """Alteration of a letter under a key signature."""
    place = SHARP_ORDER.index(step)
    if fifths >= 0:
        return 1 if place < fifths else 0
    return -1 if place >= 7 + fifths else 0


def transposed(text: str, steps: int, semitones: int) -> str:
    """Transpose every pitch in notation text by an interval (letters and semitones)."""

    def move(found: re.Match[str]) -> str:
        old = pitch(found[0])
        plain = Pitch(old.diatonic + steps, 0)
        return Pitch(plain.diatonic, old.midi + semitones - plain.midi).text

    return PITCH.sub(move, text)


def octave(text: str, octaves: int) -> str:
    """Transpose notation text by octaves."""
    return transposed(text, 7 * octaves, 12 * octaves)


def shifted(text: str, steps: int, fifths: int) -> str:
    """Move notation text along the scale of a key signature; chromatic alterations are kept."""

    def move(found: re.Match[str]) -> str:
        old = pitch(found[0])
        beside = old.alter - key_alter(old.step, fifths)
        plain = Pitch(old.diatonic + steps, 0)
        return Pitch(plain.diatonic, key_alter(plain.step, fifths) + beside).text

    return PITCH.sub(move, text)


def in_major(text: str, tonic: str) -> str:
    """Give the third, sixth and seventh above ``tonic`` (a name such as ``g``) their major size."""
    root = pitch(tonic + "4")
    sizes = {2: 4, 5: 9, 6: 11}

    def change(found: re.Match[str]) -> str:
        old = pitch(found[0])
        degree = (old.diatonic - root.diatonic) % 7
        if degree not in sizes:
            return found[0]
        base = Pitch(old.diatonic - degree, root.alter)
        plain = Pitch(old.diatonic, 0)
        return Pitch(old.diatonic, base.midi + sizes[degree] - plain.midi).text

    return PITCH.sub(change, text)


def figure(pattern: str, *chords: str) -> str:
    """Play a figure through chords.

    ``pattern`` is a list of chord places from 0 ("0 2 1 2"); ``3+`` and ``3-`` are not chord notes
    but written out by hand in the pieces. Each chord is its notes from the lowest: "d4 f4 a4".
    """
    out: list[str] = []
    for chord in chords:
        notes = chord.split()
        out.extend(notes[int(place)] for place in pattern.split())
    return " ".join(out)
