"""What stands in the prepared MusicXML, measure by measure, as plain values.

The reader takes pitches and places of notes from music21; everything that music21 does not carry,
or would carry at a price (signs, hidden and cue notes, voices and staves as written, bar lines,
words, jumps), is read here straight from the XML. Facts of the format: W3C MusicXML 4.0.

Conventions
-----------
- Offsets are exact quarters from the start of the measure.
- Nothing is interpreted here beyond the format: what a word means is decided in
  ``tempo``, ``cues`` and ``repeats``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, cast

from companion.score.reading.directions import (
    Barline,
    Direction,
    read_barline,
    read_direction,
    read_sound,
)
from companion.score.reading.note_signs import ornament_name, spelled

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lxml.etree import _Element as Element

MAX_MEASURE_QUARTERS = 1_000
"""A longer measure is a broken or hostile file."""

_PLAIN_NUMBER = re.compile(r"[+-]?\d{1,15}(\.\d{0,15})?", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenNote:
    """One notehead with its signs.

    ``stream`` numbers the runs of notes between backups, so that a beam across the staves can be
    followed. ``hidden`` is print-object="no", ``cue`` a <cue/> note.
    """

    note_id: str
    offset_quarters: Fraction
    duration_quarters: Fraction
    spelling: str
    staff: int
    voice: int
    stream: int
    in_chord: bool
    grace: bool
    cue: bool
    hidden: bool
    ornament: str
    arpeggiated: bool
    fermata: bool
    tie_start: bool
    tie_stop: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """A time signature; ``beats`` 0 stands for a measure without one (senza misura)."""

    offset_quarters: Fraction
    beats: int
    beat_type: int


@dataclass(frozen=True, slots=True, kw_only=True)
class KeySignature:
    """A key signature: sharps (positive) or flats (negative), and its mode when it is given."""

    offset_quarters: Fraction
    fifths: int
    mode: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenMeasure:
    """One measure of the prepared part.

    Parameters
    ----------
    content_quarters
        Where the last note or rest ends; rests that only say "whole measure" are not counted.
    rest_quarters
        Where the longest whole-measure rest ends.
    transpose_semitones
        What has to be added to written pitches (0 for a piano).
    """

    index: int
    number: str
    implicit: bool
    notes: tuple[WrittenNote, ...]
    directions: tuple[Direction, ...]
    barlines: tuple[Barline, ...]
    meters: tuple[Meter, ...]
    keys: tuple[KeySignature, ...]
    fermata_offsets: tuple[Fraction, ...]
    content_quarters: Fraction
    rest_quarters: Fraction
    transpose_semitones: int


def read_written(root: Element) -> Iterator[WrittenMeasure]:
    """Walk through the measures of the one part of a prepared score."""
    walker = _Walker(only_tied=root.find("part/measure/note/tie") is None)
    for index, measure in enumerate(root.iterfind("part/measure")):
        yield walker.walk(index, measure)


class _Walker:
    """Keeps what carries over from one measure to the next: divisions, transposition, voices."""

    def __init__(self, *, only_tied: bool) -> None:
        self._divisions = 1
        self._semitones = 0
        self._only_tied = only_tied  # some programs write the curve but forget the sound
        self._voice_numbers: dict[str, int] = {}
        self._known_quarters: dict[tuple[str, bool], Fraction] = {}

    def walk(self, index: int, measure: Element) -> WrittenMeasure:
        notes: list[WrittenNote] = []
        directions: list[Direction] = []
        barlines: list[Barline] = []
        meters: list[Meter] = []
        keys: list[KeySignature] = []
        fermatas: list[Fraction] = []
        cursor = onset = content = whole_rest = Fraction(0)
        stream = 0
        voice = 1
        for child in measure:
            tag = child.tag
            if tag == "note":
                facts = cast(dict[str, "Element"], {fact.tag: fact for fact in child})
                duration = Fraction(0) if "grace" in facts else self._duration(facts)
                if "chord" not in facts:
                    onset = cursor
                    cursor += duration
                    voice = self._voice(facts)
                rest = facts.get("rest")
                if rest is not None and rest.get("measure") == "yes":
                    whole_rest = max(whole_rest, onset + duration)
                else:
                    content = max(content, onset + duration)
                if "pitch" in facts:
                    notes.append(self._note(child, facts, onset, duration, voice, stream))
                if _has_fermata(facts):
                    fermatas.append(onset)
            elif tag == "backup":
                cursor = max(Fraction(0), cursor - self._quarters(child.findtext("duration")))
                stream += 1
            elif tag == "forward":
                cursor += self._quarters(child.findtext("duration"))
                content = max(content, cursor)  # silence that nobody wrote a rest for is time too
            elif tag == "attributes":
                self._attributes(child, cursor, meters, keys)
            elif tag == "direction":
                shift = self._quarters(child.findtext("offset"), signed=True)
                directions.append(read_direction(child, max(Fraction(0), cursor + shift)))
            elif tag == "sound":
                directions.append(read_sound(child, cursor))
            elif tag == "barline":
                barlines.append(read_barline(child))
        return WrittenMeasure(
            index=index,
            number=measure.get("number") or str(index + 1),
            implicit=measure.get("implicit") == "yes",
            notes=tuple(_with_chord_arpeggios(notes)),
            directions=tuple(directions),
            barlines=tuple(barlines),
            meters=tuple(meters),
            keys=tuple(keys),
            fermata_offsets=tuple(fermatas),
            content_quarters=content,
            rest_quarters=whole_rest,
            transpose_semitones=self._semitones,
        )

    def _quarters(self, text: str | None, *, signed: bool = False) -> Fraction:
        key = (text or "", signed)
        known = self._known_quarters.get(key)
        if known is None:
            known = self._known_quarters[key] = self._counted_quarters(*key)
        return known

    def _counted_quarters(self, text: str, signed: bool) -> Fraction:
        # plain numbers only: "1e999999999" would take for ever to turn into a fraction
        if not _PLAIN_NUMBER.fullmatch(text.strip()):
            return Fraction(0)
        value = Fraction(text.strip()) / self._divisions
        bound = MAX_MEASURE_QUARTERS
        return max(Fraction(-bound if signed else 0), min(Fraction(bound), value))

    def _duration(self, facts: dict[str, Element]) -> Fraction:
        duration = facts.get("duration")
        return Fraction(0) if duration is None else self._quarters(duration.text)

    def _voice(self, facts: dict[str, Element]) -> int:
        text = _text(facts.get("voice")) or "1"
        if text.isdecimal() and len(text) < 5:
            return int(text)
        return self._voice_numbers.setdefault(text, 1_001 + len(self._voice_numbers))

    def _note(
        self,
        note: Element,
        facts: dict[str, Element],
        onset: Fraction,
        duration: Fraction,
        voice: int,
        stream: int,
    ) -> WrittenNote:
        staff = _text(facts.get("staff"))
        ties: set[str | None] = set()
        if self._only_tied:
            ties = {tie.get("type") for tie in note.iterfind("notations/tied")}
        elif "tie" in facts:
            ties = {tie.get("type") for tie in note.iterfind("tie")}
        notations = list(note.iterfind("notations/*")) if "notations" in facts else []
        return WrittenNote(
            note_id=note.get("id") or "",
            offset_quarters=onset,
            duration_quarters=duration,
            spelling=spelled(facts["pitch"]),
            staff=int(staff) if staff.isdecimal() and len(staff) < 3 else 1,
            voice=voice,
            stream=stream,
            in_chord="chord" in facts,
            grace="grace" in facts,
            cue="cue" in facts,
            hidden=note.get("print-object") == "no",
            ornament=ornament_name(notations),
            arpeggiated=any(sign.tag == "arpeggiate" for sign in notations),
            fermata=any(sign.tag == "fermata" for sign in notations),
            tie_start="start" in ties or "continue" in ties,
            tie_stop="stop" in ties or "continue" in ties,
        )

    def _attributes(
        self, element: Element, cursor: Fraction, meters: list[Meter], keys: list[KeySignature]
    ) -> None:
        divisions = (element.findtext("divisions") or "").strip()
        if divisions.isdecimal() and int(divisions[:9]) > 0:
            self._divisions = int(divisions[:9])
            self._known_quarters.clear()
        key = element.find("key")
        if key is not None and key.find("fifths") is not None:
            fifths = max(-7, min(7, _integer(key.findtext("fifths"), 0)))
            keys.append(
                KeySignature(
                    offset_quarters=cursor,
                    fifths=fifths,
                    mode=(key.findtext("mode") or "").strip().lower(),
                )
            )
        time = element.find("time")
        if time is not None:
            meters.append(_meter(time, cursor))
        transpose = element.find("transpose")
        if transpose is not None:
            chromatic = _integer(transpose.findtext("chromatic"), 0)
            octaves = _integer(transpose.findtext("octave-change"), 0)
            self._semitones = max(-48, min(48, chromatic + 12 * octaves))


def _integer(text: str | None, default: int) -> int:
    try:
        return int((text or "").strip()[:9])
    except ValueError:
        return default


def _meter(time: Element, cursor: Fraction) -> Meter:
    """Read a time signature; 3+2 over 8 counts as 5 over 8, several ones are added up."""
    total = Fraction(0)
    finest = 1
    for beats, beat_type in zip(time.findall("beats"), time.findall("beat-type"), strict=False):
        unit = _integer(beat_type.text, 4)
        count = sum(_integer(term, 0) for term in (beats.text or "").split("+"))
        if unit > 0 and count > 0:
            total += Fraction(count, unit)
            finest = max(finest, unit)
    if not total:
        return Meter(offset_quarters=cursor, beats=0, beat_type=4)
    beats_total = total * finest
    if beats_total.denominator != 1:
        finest *= beats_total.denominator
        beats_total = total * finest
    return Meter(offset_quarters=cursor, beats=int(beats_total), beat_type=finest)


def _text(element: Element | None) -> str:
    return "" if element is None else (element.text or "").strip()


def _has_fermata(facts: dict[str, Element]) -> bool:
    notations = facts.get("notations")
    return notations is not None and notations.find("fermata") is not None


def _with_chord_arpeggios(notes: list[WrittenNote]) -> list[WrittenNote]:
    """Spread an arpeggio sign over its chord: some programs write it on one note only."""
    result = list(notes)
    start = 0
    for place in range(1, len(notes) + 1):
        if place == len(notes) or not notes[place].in_chord:
            chord = notes[start:place]
            if len(chord) > 1 and any(note.arpeggiated for note in chord):
                result[start:place] = [replace(note, arpeggiated=True) for note in chord]
            start = place
    return result
