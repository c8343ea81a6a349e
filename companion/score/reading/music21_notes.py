"""Pitches and places of the notes as music21 reads them, each with the id from the file.

music21 is given the bones of the prepared score only (notes, rests, voices, divisions): it need
not spend time on beams, words and layout, which are read elsewhere or only engraved. Its reader
of measures is used by itself, measure after measure: putting the measures together to a part, as
music21 would go on to do, takes time that grows with the square of their number, and the part is
not needed, since notes are keyed by measure.

music21 10.5 drops the ids of notes; a small subclass of its measure reader keeps them.
"""

from __future__ import annotations

import copy
import warnings
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

from lxml import etree

from companion.progress import Progress, Report

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lxml.etree import _Element as Element

_FLESH = (
    *("accidental", "accidental-mark", "barline", "beam", "bookmark", "clef", "cue", "direction"),
    *("directive", "dot", "figured-bass", "footnote", "for-part", "grouping", "harmony"),
    *("instrument", "instruments", "key", "level", "link", "listen", "listening", "lyric"),
    *("measure-style", "notations", "notehead", "notehead-text", "part-symbol", "play", "print"),
    *("sound", "staff", "staff-details", "staves", "stem", "tie", "time", "time-modification"),
    *("transpose", "type"),
)
"""Elements that say nothing about pitch and place (all others of MusicXML 4.0 in a measure do)."""

_REPORT_EVERY_MEASURES = 8
_LARGEST_DENOMINATOR = 65_535  # as in music21.defaults.limitOffsetDenominator


@dataclass(frozen=True, slots=True)
class PlacedNote:
    """A notehead as music21 placed it."""

    note_id: str
    offset_quarters: Fraction
    duration_quarters: Fraction
    pitch: int


def place_notes(root: Element, report: Report) -> list[list[PlacedNote]]:
    """Return the pitched notes of each measure, in no particular order.

    Parameters
    ----------
    root
        The tree of a prepared score.
    report
        Told about each few measures; may raise to cancel.
    """
    from music21.musicxml import xmlToM21

    reader = _measure_reader(xmlToM21.MeasureParser)
    part_state = xmlToM21.PartParser(parent=xmlToM21.MusicXMLImporter())
    # music21's reader is fastest on the tree of the standard library
    bones = ElementTree.fromstring(etree.tostring(_bones(root)))
    measures = bones.findall("measure")
    placed = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # music21 warns of every oddity in a file
        for done, measure in enumerate(measures):
            if done % _REPORT_EVERY_MEASURES == 0:
                report(Progress(done=done, total=len(measures), doing="Reading the notes"))
            read = reader(measure, parent=part_state)
            read.parse()
            placed.append(list(_placed(read.stream)))
    return placed


def _measure_reader(usual: Any) -> Any:
    """Return music21's measure reader, made to keep the ids of the notes."""

    class _KeepingIds(usual):  # type: ignore[misc]
        def xmlNoteToGeneralNoteHelper(  # noqa: N802 - music21's names
            self,
            n: Any,
            mxNote: Any,  # noqa: N803
            freeSpanners: bool = True,  # noqa: N803
        ) -> Any:
            # the usual helper goes on to read signs and style, which the bones have not
            grace = mxNote.find("grace")
            read = n if grace is None else self.xmlGraceToGrace(grace, n)
            read.id = mxNote.get("id")
            return read

    return _KeepingIds


def _placed(measure: Any) -> Iterator[PlacedNote]:
    for element in measure:
        if element.classes[0] == "Voice":
            for inner in element:
                yield from _heads(inner, element.offset + inner.offset)
        else:
            yield from _heads(element, element.offset)


def _heads(element: Any, offset: Any) -> Iterator[PlacedNote]:
    kind = element.classes[0]
    if kind == "Note":
        members = (element,)
    elif kind == "Chord":
        members = element.notes
    else:
        return
    duration = Fraction(0) if element.duration.isGrace else _exact(element.duration.quarterLength)
    for member in members:
        if hasattr(member, "pitch"):
            yield PlacedNote(str(member.id), _exact(offset), duration, int(member.pitch.midi))


@lru_cache(maxsize=4_096)
def _exact(quarters: float | Fraction) -> Fraction:
    """Return the exact fraction that music21 means: thirds come as floats here and there."""
    if isinstance(quarters, Fraction):
        return quarters
    return Fraction(quarters).limit_denominator(_LARGEST_DENOMINATOR)


def _bones(root: Element) -> Element:
    """Copy of the part with what music21 needs for pitches and places.

    Staves would make music21 sort the notes apart once more; the staff of a note is read elsewhere.
    """
    part = root.find("part")
    bones = etree.Element("part") if part is None else copy.deepcopy(part)
    etree.strip_elements(bones, *_FLESH)
    for number, measure in enumerate(bones):
        measure.set("number", str(number))  # printed numbers can be anything
    return bones
