"""Roman numerals with figured bass, as they stand under a staff.

The spelling follows RomanText (Tymoczko et al., ISMIR 2019): upper case major, lower minor, ``o``
diminished, ``ø`` half-diminished, ``+`` augmented, figures above the bass, ``/`` before the target
of an applied chord. In minor keys the numerals count in the minor scale, so the mediant of C minor
is III and not bIII; vi and vii with small letters stand on the raised degrees.
"""

from __future__ import annotations

import re

from companion.analysis.chords import (
    AUGMENTED_SIXTHS,
    MEMBERS,
    SEVENTHS,
    Chord,
    degree_of_fifths,
    fifths_of_degree,
)
from companion.analysis.spelling import Mode

TRIAD_FIGURES = ("", "6", "64")
SEVENTH_FIGURES = ("7", "65", "43", "42")
SIXTH_FIGURES = {"It": "6", "Ger": "65", "Fr": "43"}

_SMALL = frozenset(("min", "dim", "min7", "hdim7", "dim7", "minmaj7"))
_MARKS = {
    "dim": "o",
    "dim7": "o",
    "hdim7": "ø",
    "aug": "+",
    "aug7": "+",
    "augmaj7": "+M",
    "minmaj7": "M",
}
# where a plain seventh in the scale is a major seventh: I and IV in major, III and VI in minor
_MAJOR_SEVENTHS = {Mode.MAJOR: ("I", "IV"), Mode.MINOR: ("bIII", "bVI")}
_SEMITONE = 7  # on the line of fifths
_MINOR_TARGETS = {
    Mode.MAJOR: frozenset(("II", "III", "VI", "VII")),
    Mode.MINOR: frozenset(("I", "II", "IV", "VII")),
}


def figures(quality: str, inversion: int) -> str:
    """The figured bass of a chord: "65" for the first inversion of a seventh chord.

    Augmented sixths keep their own figures, whatever stands in the bass.
    """
    if quality in SIXTH_FIGURES:
        return SIXTH_FIGURES[quality]
    return (SEVENTH_FIGURES if quality in SEVENTHS else TRIAD_FIGURES)[inversion]


def numeral(chord: Chord, inversion: int, mode: Mode) -> str:
    """The whole numeral of a chord in a key of a mode: "V65/V", "viio7", "Ger65".

    Parameters
    ----------
    chord
        Degree and quality; see :mod:`companion.analysis.chords`.
    inversion
        Member in the bass, 0 the root; for augmented sixths it changes nothing.
    mode
        Of the key that the degree counts in.
    """
    targets = [part for part in chord.target.split("/") if part]
    spelled, inner_mode = [], mode
    for target in reversed(targets):
        minor = target in _MINOR_TARGETS[inner_mode]
        spelled.append(_degree(target, minor, inner_mode))
        inner_mode = Mode.MINOR if minor else Mode.MAJOR
    tail = "".join(f"/{target}" for target in reversed(spelled))
    if chord.quality in AUGMENTED_SIXTHS:
        return chord.quality + figures(chord.quality, inversion) + tail
    return _head(chord, inversion, inner_mode) + tail


def written_numeral(chord: Chord, inversion: int, mode: Mode) -> str:
    """A chord as theorists write it by hand: "V4/3/V", "N6", "Ger6/5", "vii°7", "ii6/5".

    The Neapolitan has its own letter; figures above each other are parted by a stroke.
    """
    plain = numeral(chord, inversion, mode)
    head, stroke, target = plain.partition("/")
    if (chord.head, chord.quality) == ("bII", "maj"):
        head = f"N{figures(chord.quality, inversion)}"
    found = _WRITTEN.match(head)
    if found is None:
        return plain
    letters, mark, figured, after = found.groups()
    return letters + ("°" if mark == "o" else mark) + "/".join(figured) + after + stroke + target


_WRITTEN = re.compile(r"^([#b]*[IViv]+|N|It|Ger|Fr)((?:o|ø|\+)?M?)(\d*)(.*)$")


def _head(chord: Chord, inversion: int, mode: Mode) -> str:
    degree = _degree(chord.head, chord.quality in _SMALL, mode)
    mark, after = _MARKS.get(chord.quality, ""), ""
    natural_major_seventh = chord.head in _MAJOR_SEVENTHS[mode]
    if chord.quality == "maj7" and not natural_major_seventh:
        mark = "M"
    elif chord.quality == "dom7" and natural_major_seventh:
        after = "[b7]"
    return degree + mark + figures(chord.quality, inversion) + after


def _degree(degree: str, small: bool, mode: Mode) -> str:
    """A degree of the parallel major scale, as it is written in the mode.

    In minor the third degree always counts in the minor scale, the sixth and seventh only in
    capitals: so RomanText reads them.
    """
    letters = degree.lstrip("#b")
    if mode is Mode.MINOR and (letters == "III" or (letters in ("VI", "VII") and not small)):
        degree = degree_of_fifths(fifths_of_degree(degree) + _SEMITONE)
    return degree.lower() if small else degree


def cadential_as_dominant(numeral_text: str, following: str) -> tuple[str, str] | None:
    """A cadential six-four and the dominant after it, both named as dominants.

    Parameters
    ----------
    numeral_text, following
        Two neighbouring numerals of one key: "I64" and "V" or "V7".

    Returns
    -------
    tuple or None
        "V64" and "V53" (or "V7"), None where the two are no cadential six-four.
    """
    head, _, target = numeral_text.partition("/")
    next_head, _, next_target = following.partition("/")
    if head not in ("I64", "i64") or next_head not in ("V", "V7") or target != next_target:
        return None
    tail = f"/{target}" if target else ""
    return f"V64{tail}", ("V53" if next_head == "V" else next_head) + tail


def bass_fifths(chord: Chord, inversion: int) -> int:
    """Fifths from the tonic of the key to the note in the bass."""
    members = MEMBERS[chord.quality]
    return chord.root_fifths + members[min(inversion, len(members) - 1)]
