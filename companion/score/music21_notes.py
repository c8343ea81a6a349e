"""Pitches and places of the notes as music21 reads them, each with the id from the file.

music21 is given the bones of the prepared score only (notes, rests, voices, attributes): it
need not spend time on beams, words and layout, which are read elsewhere or only engraved.

music21 10.5 drops the ids of notes. A small subclass of its measure reader keeps them; it is put
in place for the time of one reading. It also reports the progress and so can be cancelled.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from lxml import etree

from companion.progress import Progress, Report

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lxml.etree import _Element as Element

_MEASURE_BONES = frozenset({"note", "backup", "forward", "attributes"})
_NOTE_BONES = frozenset({"pitch", "unpitched", "duration", "chord", "grace", "voice", "rest"})
_ATTRIBUTE_BONES = frozenset({"divisions"})
_REPORT_EVERY_MEASURES = 8


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
    from music21 import stream
    from music21.musicxml import xmlToM21

    bones = _bones(root)
    measures = sum(1 for _ in bones.iterfind("part/measure"))
    importer = xmlToM21.MusicXMLImporter()
    importer.xmlText = etree.tostring(bones, encoding="unicode")
    usual = xmlToM21.MeasureParser
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # music21 warns of every oddity in a file
        xmlToM21.MeasureParser = _measure_reader(usual, report, measures)
        try:
            importer.parseXMLText()
        finally:
            xmlToM21.MeasureParser = usual
        part = importer.stream.parts[0]
        return [list(_placed(measure)) for measure in part.getElementsByClass(stream.Measure)]


def _measure_reader(usual: Any, report: Report, measures: int) -> Any:
    """Return a measure reader that keeps the ids of the notes and reports."""

    class _KeepingIds(usual):  # type: ignore[misc]
        measures_read = 0

        def xmlNoteToGeneralNoteHelper(  # noqa: N802 - music21's names
            self,
            n: Any,
            mxNote: Any,  # noqa: N803
            freeSpanners: bool = True,  # noqa: N803
        ) -> Any:
            read = super().xmlNoteToGeneralNoteHelper(n, mxNote, freeSpanners)
            read.id = mxNote.get("id")
            return read

        def parse(self) -> None:
            super().parse()
            cls = type(self)
            cls.measures_read += 1
            if cls.measures_read % _REPORT_EVERY_MEASURES == 0:
                report(Progress(done=cls.measures_read, total=measures, doing="Reading the notes"))

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
    duration = (
        Fraction(element.duration.quarterLength) if not element.duration.isGrace else Fraction(0)
    )
    for member in members:
        if hasattr(member, "pitch"):
            yield PlacedNote(str(member.id), Fraction(offset), duration, int(member.pitch.midi))


def _bones(root: Element) -> Element:
    """Copy what music21 needs for pitches and places, as a part of one staff.

    Staves would make music21 copy the part once more for each of them; the staff of a note is
    read elsewhere.
    """
    bones = etree.Element("score-partwise", {"version": "4.0"})
    part_list = etree.SubElement(bones, "part-list")
    score_part = etree.SubElement(part_list, "score-part", {"id": "P1"})
    etree.SubElement(score_part, "part-name").text = "Piano"
    part = etree.SubElement(bones, "part", {"id": "P1"})
    for number, measure in enumerate(root.iterfind("part/measure")):
        copied = etree.SubElement(part, "measure", {"number": str(number)})
        for child in measure:
            if child.tag not in _MEASURE_BONES:
                continue
            attributes = {"id": child.get("id") or ""} if child.tag == "note" else {}
            kept = _NOTE_BONES if child.tag == "note" else _ATTRIBUTE_BONES
            target = etree.SubElement(copied, child.tag, attributes)
            for grandchild in child:
                if grandchild.tag in kept or (
                    child.tag in ("backup", "forward") and grandchild.tag == "duration"
                ):
                    _copy(grandchild, target)
    return bones


def _copy(element: Element, parent: Element) -> None:
    copied = etree.SubElement(parent, element.tag)
    copied.text = element.text
    for child in element:
        _copy(child, copied)
