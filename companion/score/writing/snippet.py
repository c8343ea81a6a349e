"""A few notes as MusicXML of their own, to be engraved beside the words that speak of them.

One staff, one measure without a meter. Accidentals are printed as a copyist would in such a
measure: where a note differs from the key signature or from its like before.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from lxml import etree

_TYPES = {
    Fraction(8): "breve",
    Fraction(4): "whole",
    Fraction(2): "half",
    Fraction(1): "quarter",
    Fraction(1, 2): "eighth",
    Fraction(1, 4): "16th",
    Fraction(1, 8): "32nd",
    Fraction(1, 16): "64th",
    Fraction(1, 32): "128th",
    Fraction(1, 64): "256th",
}
_SPELLING = re.compile(r"^([A-G])(##|#|bb|b|)(-?\d+)$")
_ALTERS = {"##": 2, "#": 1, "": 0, "b": -1, "bb": -2}
_ACCIDENTALS = {
    2: "double-sharp", 1: "sharp", 0: "natural", -1: "flat", -2: "flat-flat",
}  # fmt: skip
_SHARPS = "FCGDAEB"
_SHARP_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_BASS_BELOW = 57  # the A below middle C
_NO_TUPLET = (1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class SnippetNote:
    """What is struck together.

    Parameters
    ----------
    spellings
        Written names with octave, "Bb3"; from below.
    written_quarters
        The note value as it is drawn, a dot included: 3/8 for a dotted sixteenth.
    tuplet
        How many are played in the time of how many; notes of one ``beam_group`` that follow each
        other with the same share a bracket.
    beam_group
        Short notes of one group stand under one beam.
    fermata
        Stay on it.
    """

    spellings: tuple[str, ...]
    written_quarters: Fraction
    tuplet: tuple[int, int] = _NO_TUPLET
    beam_group: int = 0
    fermata: bool = False

    @property
    def sounding_quarters(self) -> Fraction:
        """How long it lasts."""
        actual, normal = self.tuplet
        return self.written_quarters * normal / actual


def is_plain(quarters: Fraction) -> bool:
    """Whether one note, with a dot or without, lasts so long."""
    return quarters in _TYPES or quarters * 2 / 3 in _TYPES


def name_of_key(pitch: int) -> str:
    """A name for a MIDI key that has none in the score, with sharps."""
    return f"{_SHARP_NAMES[pitch % 12]}{pitch // 12 - 1}"


def snippet_as_musicxml(notes: Sequence[SnippetNote], key_fifths: int = 0) -> bytes:
    """Write notes as a score of one measure.

    Raises
    ------
    ValueError
        When a name or a note value cannot be written.
    """
    root = etree.Element("score-partwise", version="4.0")
    parts = etree.SubElement(root, "part-list")
    part = etree.SubElement(parts, "score-part", id="P1")
    etree.SubElement(part, "part-name", attrib={"print-object": "no"})
    measure = etree.SubElement(etree.SubElement(root, "part", id="P1"), "measure", number="1")
    divisions = lcm(1, *(note.sounding_quarters.denominator for note in notes))
    attributes = etree.SubElement(measure, "attributes")
    etree.SubElement(attributes, "divisions").text = str(divisions)
    etree.SubElement(etree.SubElement(attributes, "key"), "fifths").text = str(key_fifths)
    time = etree.SubElement(attributes, "time", attrib={"print-object": "no"})
    etree.SubElement(time, "senza-misura")
    clef = etree.SubElement(attributes, "clef")
    sign, line = _clef(notes)
    etree.SubElement(clef, "sign").text = sign
    etree.SubElement(clef, "line").text = line
    shown: dict[tuple[str, str], int] = {}
    beams = _marks_of_rows([_beam_key(note) for note in notes])
    tuplets = _marks_of_rows([_tuplet_key(note) for note in notes])
    number = 0
    for note, beam, tuplet in zip(notes, beams, tuplets, strict=True):
        for place, spelling in enumerate(note.spellings):
            number += 1
            element = etree.SubElement(measure, "note", id=f"n{number}")
            if place:
                etree.SubElement(element, "chord")
            accidental = _write_pitch(element, spelling, key_fifths, shown)
            _write_value(element, note, divisions, accidental)
            if not place:
                _write_marks(element, note, beam, tuplet)
    barline = etree.SubElement(measure, "barline", location="right")
    etree.SubElement(barline, "bar-style").text = "light-heavy"
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8")


def _clef(notes: Sequence[SnippetNote]) -> tuple[str, str]:
    pitches = [_pitch(spelling) for note in notes for spelling in note.spellings]
    middle = sum(pitches) / max(1, len(pitches))
    return ("F", "4") if middle < _BASS_BELOW else ("G", "2")


def _parts(spelling: str) -> tuple[str, int, str]:
    found = _SPELLING.match(spelling)
    if found is None:
        raise ValueError(f"not a note: {spelling!r}")
    return found[1], _ALTERS[found[2]], found[3]


def _pitch(spelling: str) -> int:
    step, alter, octave = _parts(spelling)
    return 12 * (int(octave) + 1) + _SHARP_NAMES.index(step) + alter


def _write_pitch(
    element: etree._Element, spelling: str, key_fifths: int, shown: dict[tuple[str, str], int]
) -> str:
    """Write the pitch; returns the accidental that has to be printed, "" for none."""
    step, alter, octave = _parts(spelling)
    pitch = etree.SubElement(element, "pitch")
    etree.SubElement(pitch, "step").text = step
    if alter:
        etree.SubElement(pitch, "alter").text = str(alter)
    etree.SubElement(pitch, "octave").text = octave
    if shown.get((step, octave), _in_signature(step, key_fifths)) == alter:
        return ""
    shown[step, octave] = alter
    return _ACCIDENTALS[alter]


def _in_signature(step: str, key_fifths: int) -> int:
    if key_fifths > 0:
        return int(step in _SHARPS[:key_fifths])
    return -int(step in _SHARPS[::-1][:-key_fifths]) if key_fifths else 0


def _write_value(
    element: etree._Element, note: SnippetNote, divisions: int, accidental: str
) -> None:
    etree.SubElement(element, "duration").text = str(note.sounding_quarters * divisions)
    etree.SubElement(element, "voice").text = "1"
    dotted = note.written_quarters not in _TYPES
    plain = note.written_quarters * 2 / 3 if dotted else note.written_quarters
    if plain not in _TYPES:
        raise ValueError(f"no note lasts {note.written_quarters} quarters")
    etree.SubElement(element, "type").text = _TYPES[plain]
    if dotted:
        etree.SubElement(element, "dot")
    if accidental:
        etree.SubElement(element, "accidental").text = accidental
    if note.tuplet != _NO_TUPLET:
        change = etree.SubElement(element, "time-modification")
        etree.SubElement(change, "actual-notes").text = str(note.tuplet[0])
        etree.SubElement(change, "normal-notes").text = str(note.tuplet[1])


def _write_marks(element: etree._Element, note: SnippetNote, beam: str, tuplet: str) -> None:
    if beam:
        etree.SubElement(element, "beam", number="1").text = {
            "start": "begin", "inside": "continue", "stop": "end",
        }[beam]  # fmt: skip
    if tuplet not in ("start", "stop") and not note.fermata:
        return
    notations = etree.SubElement(element, "notations")
    if tuplet in ("start", "stop"):
        etree.SubElement(notations, "tuplet", type=tuplet, number="1")
    if note.fermata:
        etree.SubElement(notations, "fermata", type="upright")


def _beam_key(note: SnippetNote) -> object:
    if note.fermata or note.written_quarters >= 1:
        return None
    return note.beam_group, note.tuplet


def _tuplet_key(note: SnippetNote) -> object:
    return None if note.tuplet == _NO_TUPLET else (note.beam_group, note.tuplet)


def _marks_of_rows(keys: Sequence[object]) -> list[str]:
    """Where rows of equal keys start and stop; rows of one, and None, have no marks."""
    marks = []
    for place, key in enumerate(keys):
        begins = place == 0 or keys[place - 1] != key
        ends = place + 1 == len(keys) or keys[place + 1] != key
        if key is None or (begins and ends):
            marks.append("")
        else:
            marks.append("start" if begins else "stop" if ends else "inside")
    return marks
