"""Chords as degree and quality, and the degrees as musicians count them.

Degrees are counted against the parallel *major* scale in both modes, so the mediant of C minor is
``bIII``, its leading-note chord ``VII`` and the Neapolitan ``bII``. Applied chords keep their
target: ``V/V``, ``VII/bIII``. The augmented sixths are ``It``, ``Ger`` and ``Fr``; what counts as
their root is the flat sixth of the key, their usual bass.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_DEGREES = {"I": 0, "II": 2, "III": 4, "IV": -1, "V": 1, "VI": 3, "VII": 5}
_DEGREE_OF_FIFTHS = {fifths: degree for degree, fifths in _DEGREES.items()}
_DEGREE = re.compile(r"^([#b]*)(VII|VI|IV|V|III|II|I)$")

AUGMENTED_SIXTHS = ("It", "Ger", "Fr")
AUGMENTED_SIXTH_ROOT = -4

# Members in thirds from the root, as steps on the line of fifths. Augmented sixths from the flat
# sixth: It = b6 1 #4, Ger adds b3, Fr adds 2 (common theory; worked examples in the tests).
MEMBERS: dict[str, tuple[int, ...]] = {
    "maj": (0, 4, 1),
    "min": (0, -3, 1),
    "dim": (0, -3, -6),
    "aug": (0, 4, 8),
    "dom7": (0, 4, 1, -2),
    "maj7": (0, 4, 1, 5),
    "min7": (0, -3, 1, -2),
    "hdim7": (0, -3, -6, -2),
    "dim7": (0, -3, -6, -9),
    "minmaj7": (0, -3, 1, 5),
    "aug7": (0, 4, 8, -2),
    "augmaj7": (0, 4, 8, 5),
    "It": (0, 4, 10),
    "Ger": (0, 4, 1, 10),
    "Fr": (0, 4, 6, 10),
}
QUALITIES = tuple(MEMBERS)
SEVENTHS = frozenset(
    ("dom7", "maj7", "min7", "hdim7", "dim7", "minmaj7", "aug7", "augmaj7"),
)
_QUALITY_WORDS = {
    "maj": "major",
    "min": "minor",
    "dim": "diminished",
    "aug": "augmented",
    "dom7": "dominant seventh",
    "maj7": "major seventh",
    "min7": "minor seventh",
    "hdim7": "half-diminished seventh",
    "dim7": "diminished seventh",
    "minmaj7": "minor with major seventh",
    "aug7": "augmented with seventh",
    "augmaj7": "augmented with major seventh",
    "It": "Italian sixth",
    "Ger": "German sixth",
    "Fr": "French sixth",
}


def quality_in_words(quality: str) -> str:
    """The quality as a musician says it: "dominant seventh"."""
    return _QUALITY_WORDS[quality]


def degree_of_fifths(fifths: int) -> str:
    """Degree that lies so many fifths above the tonic: -3 is "bIII"."""
    signs = (fifths + 1) // 7
    base = (fifths + 1) % 7 - 1
    return ("#" * signs if signs > 0 else "b" * -signs) + _DEGREE_OF_FIFTHS[base]


def fifths_of_degree(degree: str) -> int:
    """Fifths from the tonic to a degree without target; inverse of :func:`degree_of_fifths`.

    Raises
    ------
    ValueError
        The text is no degree.
    """
    found = _DEGREE.match(degree)
    if found is None:
        raise ValueError(f"no degree: {degree!r}")
    return _DEGREES[found[2]] + 7 * (found[1].count("#") - found[1].count("b"))


@dataclass(frozen=True, slots=True, order=True)
class Chord:
    """A chord in a key whose tonic is left open.

    Parameters
    ----------
    degree
        ``V``, ``bIII``, ``V/V``, ``Ger``, ``Ger/V``.
    quality
        One of :data:`QUALITIES`.
    """

    degree: str
    quality: str

    @property
    def head(self) -> str:
        """The degree without its target: "V" of "V/II"."""
        return self.degree.partition("/")[0]

    @property
    def target(self) -> str:
        """The degree that an applied chord leads to, empty for chords of the key itself."""
        return self.degree.partition("/")[2]

    @property
    def target_fifths(self) -> int:
        """Fifths from the tonic to the note taken for a tonic; 0 for chords of the key itself."""
        return sum(fifths_of_degree(part) for part in self.target.split("/") if part)

    @property
    def root_fifths(self) -> int:
        """Fifths from the tonic of the key to the root of the chord."""
        above = (
            AUGMENTED_SIXTH_ROOT if self.head in AUGMENTED_SIXTHS else fifths_of_degree(self.head)
        )
        return self.target_fifths + above

    def notes_fifths(self, tonic_fifths: int) -> tuple[int, ...]:
        """Its notes in the key of a tonic, from the root upwards in thirds."""
        return tuple(tonic_fifths + self.root_fifths + step for step in MEMBERS[self.quality])
