"""Naming key and chord away from the keyboard: which places are asked, and how an answer is judged.

An answer is judged part by part: the key, the root of the chord, its quality, its bass. Analysts
differ, so a part is right when it is right in one of the readings that the analysis holds for
likely, and all parts are taken from the same reading: the one that is kindest to the answer.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from companion.analysis.chords import AUGMENTED_SIXTHS, Chord
from companion.analysis.harmony import Harmony, HarmonySpan, Reading
from companion.analysis.reading_numerals import read_numeral
from companion.analysis.spelling import Key, pitch_class

LIKELY_SHARE = 0.4
"""A reading is accepted from this share of the belief in the first one (project convention)."""

SHORTEST_ASKED_QUARTERS = Fraction(1, 2)
"""Chords that pass more quickly are not asked for."""

_KEY_THEN_NUMERAL = re.compile(
    r"^\s*(?P<tonic>[A-Ga-g])\s*(?P<sign>##|bb|#|b|♯|♭|-?sharp|-?flat|\s+sharp|\s+flat)?\s*"
    r"(?P<mode>major|minor|maj|min|M|m)?\s*(?:[:,]\s*|\s+|$)(?P<numeral>.*)$"
)
_SIGN = {"sharp": "#", "flat": "b", "♯": "#", "♭": "b"}


@dataclass(frozen=True, slots=True)
class Answer:
    """What was named: parts that were left out are None.

    ``keys_played`` are MIDI note numbers when the chord was played instead of named.
    """

    key: Key | None = None
    chord: Chord | None = None
    inversion: int | None = None
    keys_played: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """Which parts of an answer are right; None for a part that was not named.

    ``reading`` is the reading that it was held against.
    """

    reading: Reading
    key: bool | None
    root: bool | None
    quality: bool | None
    bass: bool | None

    @property
    def parts(self) -> tuple[bool | None, bool | None, bool | None, bool | None]:
        """Key, root, quality, bass."""
        return (self.key, self.root, self.quality, self.bass)

    @property
    def all_right(self) -> bool:
        """Whether everything was named and right; the key may be left out of a played chord."""
        return all(part is not False for part in self.parts) and self.root is True


def ask(
    harmony: Harmony, start: Fraction, end: Fraction, count: int, random: Random
) -> tuple[HarmonySpan, ...]:
    """Draw places to be named, without replacement, in random order.

    Parameters
    ----------
    start, end
        The stretch of the score, in quarters as printed.
    count
        At most so many.
    """
    inside = [
        span
        for span in harmony.spans
        if start <= span.start_quarters < end
        and span.end_quarters - span.start_quarters >= SHORTEST_ASKED_QUARTERS
    ]
    return tuple(random.sample(inside, min(count, len(inside))))


def read_answer(text: str, likely_key: Key) -> Answer | None:
    """Read a typed answer: "Eb: V4/3", "c minor, i6", "E flat major", "V7".

    A numeral alone is read in the likely key, and the key counts as not named. Capital letters mean
    major and small ones minor where the mode is not written, as musicians do.

    Returns
    -------
    Answer or None
        None when it makes no sense.
    """
    named = _read_with_key(text)
    if named is not None:
        return named
    numeral = read_numeral(text, likely_key.mode)
    return Answer(chord=numeral.chord, inversion=numeral.inversion) if numeral else None


def _read_with_key(text: str) -> Answer | None:
    found = _KEY_THEN_NUMERAL.match(text)
    if found is None:
        return None
    sign = (found["sign"] or "").strip(" -")
    mode = (found["mode"] or "").strip()
    minor = mode in ("minor", "min", "m") or (not mode and found["tonic"].islower())
    tonic = found["tonic"].upper() + _SIGN.get(sign, sign)
    key = Key.from_name(tonic[0].lower() + tonic[1:] if minor else tonic)
    rest = found["numeral"].strip()
    if not rest:
        return Answer(key=key)
    numeral = read_numeral(rest, key.mode)
    return Answer(key, numeral.chord, numeral.inversion) if numeral is not None else None


def accepted_readings(span: HarmonySpan) -> tuple[Reading, ...]:
    """The readings of a place that count as right, the likeliest first."""
    first = Reading(
        key=span.key,
        degree=span.degree,
        quality=span.quality,
        inversion=span.inversion,
        numeral=span.numeral,
        confidence=span.confidence,
    )
    likely = LIKELY_SHARE * span.confidence
    return (first, *(other for other in span.alternatives if other.confidence >= likely))


def judge(span: HarmonySpan, answer: Answer) -> Judgement:
    """Judge an answer about a place."""
    judgements = [_held_against(reading, answer) for reading in accepted_readings(span)]
    return max(judgements, key=lambda each: sum(part is True for part in each.parts))


def _held_against(reading: Reading, answer: Answer) -> Judgement:
    key = None if answer.key is None else answer.key == reading.key
    root, quality, bass = _judged_chord(reading, answer)
    return Judgement(reading=reading, key=key, root=root, quality=quality, bass=bass)


def _judged_chord(reading: Reading, answer: Answer) -> tuple[bool | None, bool | None, bool | None]:
    if answer.keys_played:
        return _played(reading, answer.keys_played)
    if answer.chord is None:
        return None, None, None
    return _named(reading, answer, answer.chord)


def _named(reading: Reading, answer: Answer, chord: Chord) -> tuple[bool, bool, bool | None]:
    in_key = answer.key or reading.key
    members, wanted = _members(in_key, chord), _members(reading.key, _chord(reading))
    bass = None
    if answer.inversion is not None:
        bass = _bass(members, chord, answer.inversion) == _bass(
            wanted, _chord(reading), reading.inversion
        )
    return members[0] == wanted[0], chord.quality == reading.quality, bass


def _played(reading: Reading, keys: Sequence[int]) -> tuple[bool, bool, bool]:
    """A played chord: its root is there, its notes are those of the chord, its lowest note fits.

    The fifth may be left out, as players do; nothing may be added.
    """
    wanted = _members(reading.key, _chord(reading))
    played = {key % 12 for key in keys}
    needed = {member for place, member in enumerate(wanted) if place != _FIFTH}
    return (
        wanted[0] in played,
        played <= set(wanted) and needed <= played,
        min(keys) % 12 == _bass(wanted, _chord(reading), reading.inversion),
    )


_FIFTH = 2  # the third of root, third, fifth, seventh


def _chord(reading: Reading) -> Chord:
    return Chord(reading.degree, reading.quality)


def _members(key: Key, chord: Chord) -> tuple[int, ...]:
    """Pitch classes of a chord in a key, from its root up."""
    return tuple(pitch_class(fifths) for fifths in chord.notes_fifths(key.tonic_fifths))


def _bass(members: Sequence[int], chord: Chord, inversion: int) -> int:
    return members[0] if chord.quality in AUGMENTED_SIXTHS else members[inversion]
