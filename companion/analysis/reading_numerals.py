"""Reading numerals that a person wrote: "V4/3", "viio7", "N6", "Ger6", "V6/5/V".

A numeral is read by looking it up among all that :func:`companion.analysis.numerals.numeral` can
write, so what is read is what would be written. Spellings that mean the same are made alike before:
figures with strokes, the degree sign, the names of the Neapolitan and the augmented sixths with any
of their usual figures, a cadential six-four.
"""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

from companion.analysis.chords import (
    AUGMENTED_SIXTHS,
    QUALITIES,
    SEVENTHS,
    Chord,
    degree_of_fifths,
)
from companion.analysis.numerals import SIXTH_FIGURES, numeral
from companion.analysis.spelling import Mode

_DEGREES = tuple(degree_of_fifths(fifths) for fifths in range(-6, 9))
_TARGETS = tuple(degree for degree in _DEGREES if degree != "I")
_STROKES = re.compile(r"(?<=\d)/(?=\d)")
_FIGURES = re.compile(
    r"(?<=[IViv°oø+M])(?P<figures>753|75|73|53|653|654|643|642|63|5|3|2)(?=$|/|\?)"
)
_SHORT = {
    "753": "7",
    "75": "7",
    "73": "7",
    "53": "",
    "5": "",
    "3": "",
    "653": "65",
    "654": "65",
    "643": "43",
    "642": "42",
    "63": "6",
    "2": "42",
}
_SIXTH = re.compile(r"^(?P<name>It|Ger|Fr|Gr)(?:\+)?\d*(?P<tail>/.+)?$", re.IGNORECASE)
_NEAPOLITAN = re.compile(r"^N(?P<figures>\d*)(?P<tail>/.+)?$")
_CADENTIAL = re.compile(r"^(?:Cad|K)64$", re.IGNORECASE)
_SIGNS = str.maketrans({"°": "o", "º": "o", "♭": "b", "♯": "#", "Ø": "ø", " ": None})


class ReadNumeral(NamedTuple):
    """A chord in a key, and the member in its bass."""

    chord: Chord
    inversion: int


def read_numeral(text: str, mode: Mode) -> ReadNumeral | None:
    """Read a numeral in a key of a mode; None when it is none.

    A numeral without the raised or lowered sign that its mode needs is read as it is written there:
    "VI" in minor is the chord on the flat sixth.
    """
    return _numerals(mode).get(_made_alike(text, mode))


def _made_alike(text: str, mode: Mode) -> str:
    plain = _STROKES.sub("", text.strip().translate(_SIGNS)).replace("%", "ø")
    if _CADENTIAL.match(plain):
        return "I64" if mode is Mode.MAJOR else "i64"
    sixth = _SIXTH.match(plain)
    if sixth is not None:
        name = {"gr": "Ger"}.get(sixth["name"].lower(), sixth["name"].capitalize())
        return name + SIXTH_FIGURES[name] + (sixth["tail"] or "")
    neapolitan = _NEAPOLITAN.match(plain)
    if neapolitan is not None:
        return f"bII{neapolitan['figures'] or '6'}{neapolitan['tail'] or ''}"
    return _FIGURES.sub(lambda found: _SHORT[found["figures"]], plain)


@cache
def _numerals(mode: Mode) -> dict[str, ReadNumeral]:
    """Every numeral that can be written in a mode; where two are written alike the plainer wins."""
    table: dict[str, ReadNumeral] = {}
    for target in ("", *_TARGETS):
        tail = f"/{target}" if target else ""
        for quality in QUALITIES:
            heads = (quality,) if quality in AUGMENTED_SIXTHS else _DEGREES
            for head in heads:
                chord = Chord(head + tail, quality)
                inversions = 1 if quality in AUGMENTED_SIXTHS else 3 + (quality in SEVENTHS)
                for inversion in range(inversions):
                    written = numeral(chord, inversion, mode)
                    table.setdefault(written, ReadNumeral(chord, inversion))
    return table
