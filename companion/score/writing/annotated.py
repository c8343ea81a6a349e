"""A score with sections, numerals, groups and fingers written into it (W3C MusicXML 4.0).

- A section becomes a ``rehearsal`` mark, its purpose ``words`` beside it.
- A numeral becomes ``words`` below the lowest staff: programs read these where they do not know
  ``numeral``.
- A group becomes a ``bracket`` from its first note to its goal, above or below.
- A finger becomes ``fingering`` at its note.

Everything stands directly before the note at which it begins, so that no offset is needed; where no
note begins it carries an ``offset`` from the start of the measure.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from lxml import etree

from companion.errors import ScoreUnreadable
from companion.score.files.safe_xml import parse_untrusted
from companion.score.model import Hand, Position, Score

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

MOST_BRACKETS_AT_ONCE = 16
"""``number-level`` of MusicXML goes from 1 to 16."""

_NOTATIONS_GO_BEFORE = ("lyric", "play", "listen")


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionMark:
    """A section that begins at a position; ``words`` may be empty."""

    position: Position
    name: str
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NumeralMark:
    """A numeral at a position, with the key before it where that changes ("d: iv6")."""

    position: Position
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BracketMark:
    """A bracket from one note to another, in one hand."""

    first_id: str
    last_id: str
    hand: Hand


@dataclass(frozen=True, slots=True, kw_only=True)
class Annotations:
    """Everything that shall be written into a score; ``fingers`` by note id."""

    sections: tuple[SectionMark, ...] = ()
    numerals: tuple[NumeralMark, ...] = ()
    brackets: tuple[BracketMark, ...] = ()
    fingers: Mapping[str, int] | None = None


def annotated_score(score: Score, annotations: Annotations) -> bytes:
    """Return the score as MusicXML with the annotations in it.

    Raises
    ------
    ScoreUnreadable
        When the score cannot be read again (which its own preparation wrote).
    """
    if not score.musicxml:
        raise ScoreUnreadable("This score is not there as MusicXML any more: open it once again.")
    tree = parse_untrusted(score.musicxml, score.title)
    writer = _Writer(score, tree)
    for section in annotations.sections:
        writer.write_section(section)
    for numeral in annotations.numerals:
        writer.write_numeral(numeral)
    writer.write_brackets(annotations.brackets)
    for note_id, finger in (annotations.fingers or {}).items():
        writer.write_finger(note_id, finger)
    return etree.tostring(
        tree,
        xml_declaration=True,
        encoding="UTF-8",
        doctype='<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        '"http://www.musicxml.org/dtds/partwise.dtd">',
    )


class _Writer:
    """Knows where the notes stand in the file."""

    def __init__(self, score: Score, tree: Element) -> None:
        self._score = score
        self._measures = tree.findall("part")[0].findall("measure")
        self._notes: dict[str, Element] = {
            str(note.get("id")): note for note in tree.iter("note") if note.get("id")
        }
        self._divisions = _divisions_of(self._measures)
        self._staves = max(
            (int(staff.text or 1) for staff in tree.iter("staff") if (staff.text or "").isdigit()),
            default=1,
        )
        self._at: dict[Position, dict[int, str]] = defaultdict(dict)
        for note in score.notes:
            if not note.grace and note.note_id in self._notes:
                position = Position(note.measure_index, Fraction(note.measure_offset_quarters))
                self._at[position].setdefault(note.staff, note.note_id)

    def write_section(self, section: SectionMark) -> None:
        """Write a rehearsal mark, unless the score has the very same one there."""
        if self._has_rehearsal(section):
            return
        mark = _direction("above")
        etree.SubElement(etree.SubElement(mark, "direction-type"), "rehearsal").text = section.name
        if section.words:
            words = etree.SubElement(etree.SubElement(mark, "direction-type"), "words")
            words.text = section.words
            words.set("font-style", "italic")
        self._insert(_on_staff(mark, 1), section.position, staff=1)

    def write_numeral(self, numeral: NumeralMark) -> None:
        """Write a numeral below the lowest staff."""
        mark = _direction("below")
        words = etree.SubElement(etree.SubElement(mark, "direction-type"), "words")
        words.text = numeral.text
        self._insert(_on_staff(mark, self._staves), numeral.position, staff=self._staves)

    def write_brackets(self, brackets: Iterable[BracketMark]) -> None:
        """Write brackets; those that overlap get different numbers."""
        open_until: list[Position] = [Position(-1)] * MOST_BRACKETS_AT_ONCE
        places = {
            note.note_id: Position(note.measure_index, Fraction(note.measure_offset_quarters))
            for note in self._score.notes
        }
        staves = {note.note_id: note.staff for note in self._score.notes}
        rows = [
            (places[bracket.first_id], places[bracket.last_id], bracket)
            for bracket in brackets
            if bracket.first_id in self._notes and bracket.last_id in self._notes
        ]
        for start, end, bracket in sorted(rows, key=lambda row: (row[0], row[1])):
            number = next((n for n, until in enumerate(open_until) if until < start), None)
            if number is None:
                continue
            open_until[number] = end
            above = bracket.hand is Hand.RIGHT
            for kind, note_id in (("start", bracket.first_id), ("stop", bracket.last_id)):
                mark = _direction("above" if above else "below")
                line = etree.SubElement(etree.SubElement(mark, "direction-type"), "bracket")
                line.set("type", kind)
                line.set("number", str(number + 1))
                line.set("line-end", "down" if above else "up")
                line.set("line-type", "solid")
                self._insert_before(
                    _on_staff(mark, staves[note_id]), self._notes[note_id], after=kind == "stop"
                )

    def write_finger(self, note_id: str, finger: int) -> None:
        """Write a finger at a note; one that is printed there already is replaced."""
        note = self._notes.get(note_id)
        if note is None:
            return
        notations = note.find("notations")
        if notations is None:
            notations = etree.Element("notations")
            following = next((c for c in note if c.tag in _NOTATIONS_GO_BEFORE), None)
            if following is None:
                note.append(notations)
            else:
                following.addprevious(notations)
        technical = notations.find("technical")
        if technical is None:
            technical = etree.Element("technical")
            notations.append(technical)
        for old in technical.findall("fingering"):
            technical.remove(old)
        etree.SubElement(technical, "fingering").text = str(finger)

    # -- places ----------------------------------------------------------------------------------

    def _has_rehearsal(self, section: SectionMark) -> bool:
        if section.position.measure_index >= len(self._measures):
            return True
        measure = self._measures[section.position.measure_index]
        return any((mark.text or "").strip() == section.name for mark in measure.iter("rehearsal"))

    def _insert(self, mark: Element, position: Position, staff: int) -> None:
        by_staff = self._at.get(position, {})
        if by_staff:
            note_id = by_staff.get(staff) or next(iter(by_staff.values()))
            self._insert_before(mark, self._notes[note_id])
            return
        if position.measure_index >= len(self._measures):
            return
        measure = self._measures[position.measure_index]
        divisions = position.offset_quarters * self._divisions[position.measure_index]
        if divisions:
            offset = etree.Element("offset")
            offset.text = str(round(divisions))
            types = mark.findall("direction-type")
            types[-1].addnext(offset)
        first = next((c for c in measure if c.tag in ("note", "backup", "forward")), None)
        if first is None:
            measure.append(mark)
        else:
            first.addprevious(mark)

    @staticmethod
    def _insert_before(mark: Element, note: Element, *, after: bool = False) -> None:
        """Put a direction before a note, or behind it; never between the notes of a chord."""
        first = note
        while first.find("chord") is not None:
            before = first.getprevious()
            if before is None:
                break
            first = before
        if not after:
            first.addprevious(mark)
            return
        last = first
        following = last.getnext()
        while following is not None and following.find("chord") is not None:
            last, following = following, following.getnext()
        last.addnext(mark)


def _direction(placement: str) -> Element:
    mark = etree.Element("direction")
    mark.set("placement", placement)
    return mark


def _on_staff(mark: Element, staff: int) -> Element:
    """Say on which staff a direction stands: behind its types, where the schema has it."""
    etree.SubElement(mark, "staff").text = str(staff)
    return mark


def _divisions_of(measures: Iterable[Element]) -> list[Fraction]:
    """Divisions of a quarter at the start of each measure."""
    found, now = [], Fraction(1)
    for measure in measures:
        text = measure.findtext("attributes/divisions")
        if text is not None and text.strip():
            now = Fraction(text.strip())
        found.append(now)
    return found
