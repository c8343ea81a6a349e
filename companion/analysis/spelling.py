"""Spelled pitches and keys as places on the line of fifths (F -1, C 0, G 1, ...)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

_LETTERS = "FCGDAEB"
_SPELLED = re.compile(r"^([A-G])(#*|b*)(-?\d+)?$")


class Mode(StrEnum):
    """Major or minor."""

    MAJOR = "major"
    MINOR = "minor"


def fifths_of_name(name: str) -> int:
    """Place of a note name on the line of fifths; an octave number is ignored ("Bb3" is -2).

    Raises
    ------
    ValueError
        The text is no note name.
    """
    found = _SPELLED.match(name)
    if found is None:
        raise ValueError(f"no note name: {name!r}")
    signs = found[2]
    return _LETTERS.index(found[1]) - 1 + 7 * (signs.count("#") - signs.count("b"))


def name_of_fifths(fifths: int) -> str:
    """Name of a place on the line of fifths, -2 is "Bb"; inverse of :func:`fifths_of_name`."""
    signs = (fifths + 1) // 7
    return _LETTERS[(fifths + 1) % 7] + ("#" * signs if signs > 0 else "b" * -signs)


def pitch_class(fifths: int) -> int:
    """Semitones above C, 0 to 11, of a place on the line of fifths."""
    return 7 * fifths % 12


def nearest_fifths(pitch: int, centre_fifths: int) -> int:
    """The spelling of a MIDI pitch that lies nearest to a centre on the line of fifths.

    With the centre two fifths above a major tonic the diatonic notes come out as in its key
    signature, the rest as the commonest chromatic notes (from E flat to G sharp in C major).
    """
    place = 7 * pitch % 12  # multiplying by 7 is its own inverse modulo 12
    return place + 12 * round((centre_fifths - place) / 12)


@dataclass(frozen=True, slots=True, order=True)
class Key:
    """A key: its tonic on the line of fifths and its mode."""

    tonic_fifths: int
    mode: Mode

    @property
    def name(self) -> str:
        """As musicians write it in short: "Eb" for E flat major, "c#" for C sharp minor."""
        tonic = name_of_fifths(self.tonic_fifths)
        return tonic if self.mode is Mode.MAJOR else tonic[0].lower() + tonic[1:]

    @property
    def spoken_name(self) -> str:
        """In words: "E flat major"."""
        tonic = name_of_fifths(self.tonic_fifths)
        sign = {"": "", "#": " sharp", "b": " flat", "##": " double sharp", "bb": " double flat"}
        return f"{tonic[0]}{sign.get(tonic[1:], tonic[1:])} {self.mode}"

    @property
    def signature_fifths(self) -> int:
        """Sharps (positive) or flats (negative) of its key signature."""
        return self.tonic_fifths - (3 if self.mode is Mode.MINOR else 0)

    @classmethod
    def from_name(cls, name: str) -> Key:
        """The key of a short name; inverse of :attr:`name`."""
        mode = Mode.MAJOR if name[:1].isupper() else Mode.MINOR
        return cls(fifths_of_name(name[:1].upper() + name[1:]), mode)
