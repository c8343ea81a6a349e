"""From a file on disk to prepared MusicXML: the one input of the reader and of the engraver.

Preparing is quick (well below a second for 9,000 notes) and needs neither music21 nor verovio, so
the engraver can start on the prepared bytes while the reader is still at work. Preparing means:
only the pianist's part is kept, and every ``<note>`` gets the id n1, n2, ... in the order of the
file, every ``<measure>`` the id m0, m1, ...; all readers of the prepared bytes agree on these ids.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from lxml import etree

from companion.errors import ScoreUnreadable
from companion.progress import Progress, Report, no_report
from companion.score.files.conversion import GUESSED_NOTATION, to_musicxml
from companion.score.files.sources import SourceFile, SourceFormat, open_source
from companion.score.reading.part_choice import PartChoice
from companion.score.reading.parts import (
    chosen_part,
    has_name,
    keep_only,
    part_choices,
    partwise,
)
from companion.score.reading.versions import PREPARATION_VERSION

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

__all__ = ["PartChoice", "PreparedScore", "list_parts", "prepare_score"]

MAX_NOTES = 100_000
"""Noteheads of one part; the longest real piano movements have about 15,000."""

MAX_MEASURES = 200_000
"""Measures of all parts together."""

_PLACEHOLDERS = ("Music21 Fragment", "Music21", "Untitled", "Composer / arranger", "Title")
"""What programs write where nobody has written a title or a name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparedScore:
    """A score ready for the reader and the engraver.

    Parameters
    ----------
    musicxml
        Part-wise MusicXML in UTF-8: the chosen part alone, with our ids.
    content_hash
        SHA-256 over the file, the chosen part and the version of the preparation.
    title, composer
        As printed; the title falls back to the name of the file.
    part_id
        Id in the file of the part that was kept.
    source_format
        "MusicXML", "MEI", "Humdrum", "ABC" or "MIDI".
    remarks
        Plain sentences about what was decided or guessed.
    parts
        All parts of the file, as :func:`list_parts` gives them (a second reading of the file
        would convert it once more).
    """

    musicxml: bytes
    content_hash: str
    title: str
    composer: str
    part_id: str
    source_format: str
    remarks: tuple[str, ...] = ()
    parts: tuple[PartChoice, ...] = ()


def list_parts(path: str | Path) -> tuple[PartChoice, ...]:
    """List the parts of a score, so that the pianist can choose.

    Raises
    ------
    ScoreUnreadable
        The file cannot be read as a score.
    """
    source = open_source(path)
    return part_choices(partwise(to_musicxml(source), source.name))


def prepare_score(
    path: str | Path, part_id: str | None = None, report: Report = no_report
) -> PreparedScore:
    """Read a score file and prepare it for the reader and the engraver.

    Parameters
    ----------
    path
        A .musicxml, .xml, .mxl, .mei, .krn, .abc, .mid or .midi file; what is in the file
        decides, not its name.
    part_id
        One of :func:`list_parts`; None takes the part that looks like the piano.
    report
        Told about the progress; may raise to cancel.

    Raises
    ------
    ScoreUnreadable
        The file is missing, broken, hostile, too large, no score, or holds no notes.
    """
    report(Progress(done=0, total=4, doing="Opening the score"))
    source = open_source(path)
    report(Progress(done=1, total=4, doing="Opening the score"))
    root = partwise(to_musicxml(source, report), source.name)
    report(Progress(done=2, total=4, doing="Finding the piano part"))
    choices = part_choices(root)
    choice = chosen_part(choices, part_id, source.name)
    _check_size(choice, root, source.name)
    title, composer = _title(root) or source.stem, _composer(root)
    kept = keep_only(root, choice)
    report(Progress(done=3, total=4, doing="Numbering the notes"))
    _write_ids(kept)
    return PreparedScore(
        musicxml=etree.tostring(kept, encoding="UTF-8", xml_declaration=True),
        content_hash=_content_hash(source.original, choice.part_id),
        title=title,
        composer=composer,
        part_id=choice.part_id,
        source_format=source.source_format.value,
        remarks=_remarks(source, choices, choice),
        parts=choices,
    )


def _check_size(choice: PartChoice, root: Element, name: str) -> None:
    measures = sum(1 for _ in root.iterfind("part/measure"))
    if choice.note_count > MAX_NOTES or measures > MAX_MEASURES:
        raise ScoreUnreadable(f"“{name}” is far too long to be one piece.")


def _content_hash(original: bytes, part_id: str) -> str:
    digest = hashlib.sha256(original)
    digest.update(b"\0" + part_id.encode("utf-8", "replace"))
    digest.update(b"\0%d" % PREPARATION_VERSION)
    return digest.hexdigest()


def _write_ids(root: Element) -> None:
    notes = 0
    for index, measure in enumerate(root.iterfind("part/measure")):
        for element in measure.iter():
            # ids of other elements could clash with ours; that of <instrument> is a reference
            if element.tag != "instrument" and "id" in element.attrib:
                del element.attrib["id"]
            if element.tag == "note":
                notes += 1
                element.set("id", f"n{notes}")
        measure.set("id", f"m{index}")


def _title(root: Element) -> str:
    work = _words(root.findtext("work/work-title"))
    movement = _words(root.findtext("movement-title"))
    if work and movement and work != movement:
        return f"{work}: {movement}"
    return work or movement or _credit(root, "title")


def _composer(root: Element) -> str:
    creators = root.findall("identification/creator")
    for creator in creators:
        if creator.get("type", "").lower() == "composer":
            return _words(creator.text)
    untyped = [creator for creator in creators if not creator.get("type")]
    return _words(untyped[0].text) if untyped else _credit(root, "composer")


def _credit(root: Element, kind: str) -> str:
    for credit in root.iterfind("credit"):
        if _words(credit.findtext("credit-type")) == kind:
            return _words(" ".join(words.text or "" for words in credit.iterfind("credit-words")))
    return ""


def _words(text: str | None) -> str:
    words = " ".join((text or "").split())[:300]
    return "" if words in _PLACEHOLDERS else words


def _remarks(
    source: SourceFile, choices: tuple[PartChoice, ...], choice: PartChoice
) -> tuple[str, ...]:
    remarks = []
    if source.source_format is SourceFormat.MIDI:
        remarks.append(GUESSED_NOTATION)
    others = sum(1 for other in choices if other.note_count) - 1
    if others > 0:
        kept = f"“{choice.name}”" if has_name(choice) else "one"
        if choice.looks_like_piano and not has_name(choice):
            kept = "the one that looks like the piano part"
        remarks.append(f"The score has {others + 1} parts; {kept} was taken.")
    if "+" in choice.part_id:
        remarks.append("Two parts of one staff each were taken as the two hands of one part.")
    return tuple(remarks)
