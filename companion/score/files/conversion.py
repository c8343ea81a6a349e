"""Scores in other formats, turned into MusicXML by music21.

After this step there is one kind of source only, so that ids, engraving and reading are the same
for all formats. music21 is imported when it is needed: it costs a quarter of a second.
"""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Any

from lxml import etree

from companion.errors import Cancelled, ScoreUnreadable
from companion.progress import Progress, Report, no_report
from companion.score.files.safe_xml import parse_untrusted, to_utf8
from companion.score.files.sources import SourceFile, SourceFormat

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

MAX_QUARTERS = 40_000
"""Longest music that is converted: about five hours at 120 quarters a minute."""

GUESSED_NOTATION = (
    "This score was made from a MIDI file: note values, spelling, staves and measures are guesses."
)
_MIDI_QUANTIZATION = (4, 3)  # sixteenths and eighth triplets


def to_musicxml(source: SourceFile, report: Report = no_report) -> Element:
    """Return the MusicXML tree of a score in any format that can be read.

    Raises
    ------
    ScoreUnreadable
        The source is broken or not understood.
    """
    if source.source_format is SourceFormat.MUSICXML:
        return parse_untrusted(source.data, source.name)
    report(Progress(done=0, total=3, doing=f"Reading {source.source_format.value}"))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # music21 warns of every oddity in a file
            music = _parsed(source)
            _check_length(music.highestTime, source.name)
            report(Progress(done=1, total=3, doing="Writing it as MusicXML"))
            exported = _exported(music)
    except (ScoreUnreadable, Cancelled):
        raise
    except Exception:  # noqa: BLE001 - music21 raises whatever comes on a broken source
        raise ScoreUnreadable(
            f"“{source.name}” could not be understood as {source.source_format.value}."
        ) from None
    report(Progress(done=2, total=3, doing="Writing it as MusicXML"))
    root = parse_untrusted(exported, source.name)
    _name_parts_by_place(root)
    if source.source_format is SourceFormat.MEI:
        _take_over_heading(parse_untrusted(source.data, source.name), root)
    return root


def _take_over_heading(mei: Element, root: Element) -> None:
    """Copy title and composer, which music21 leaves behind in the head of an MEI file."""
    title = mei.find(".//titleStmt/title")
    if title is not None:
        for old in root.findall("movement-title"):
            root.remove(old)
        etree.SubElement(root, "movement-title").text = " ".join("".join(title.itertext()).split())
    people = [*mei.iterfind(".//titleStmt//persName"), *mei.iterfind(".//titleStmt//composer")]
    for person in people:
        if person.tag == "composer" or person.get("role") == "composer":
            identification = root.find("identification")
            if identification is None:
                identification = etree.SubElement(root, "identification")
            creator = etree.Element("creator", {"type": "composer"})
            creator.text = " ".join("".join(person.itertext()).split())
            identification.insert(0, creator)
            return


def _name_parts_by_place(root: Element) -> None:
    """Give the parts ids that are the same each time: music21 makes them up at random."""
    new_ids: dict[str, str] = {}
    for place, part in enumerate(root.findall("part"), start=1):
        new_ids[part.get("id") or ""] = f"P{place}"
        part.set("id", f"P{place}")
    for score_part in root.iterfind("part-list/score-part"):
        score_part.set("id", new_ids.get(score_part.get("id") or "", ""))


def _parsed(source: SourceFile) -> Any:
    if source.source_format is SourceFormat.MIDI:
        return _parsed_midi(source)
    if source.source_format is SourceFormat.MEI:
        from music21 import mei

        # through the safe parser first: music21's own would expand entities
        tree = parse_untrusted(source.data, source.name)
        clean = etree.tostring(tree, encoding="unicode")
        clean = clean.replace("<mei", '<mei xmlns="http://www.music-encoding.org/ns/mei"', 1)
        return mei.MeiToM21Converter(clean).run()
    text = _text(source.data)
    if source.source_format is SourceFormat.KERN:
        from music21.humdrum import spineParser

        parser = spineParser.HumdrumDataCollection(text)
        parser.parse()
        return parser.stream
    from music21 import abcFormat
    from music21.abcFormat import translate

    handler = abcFormat.ABCFile().readstr(text)
    if isinstance(handler, dict):
        handler = next(iter(handler.values()))
    return translate.abcToStreamScore(handler)


def _text(data: bytes) -> str:
    data = to_utf8(data)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        text = data.decode("latin-1")  # older collections; never fails
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _parsed_midi(source: SourceFile) -> Any:
    from music21 import midi
    from music21.midi import translate

    data = source.data
    start = data.find(b"MThd")  # a RIFF envelope may stand before it
    midi_file = midi.MidiFile()
    midi_file.readstr(data[start:])
    ticks = max(
        (
            sum(event.time for event in track.events if event.isDeltaTime())
            for track in midi_file.tracks
        ),
        default=0,
    )
    # a single hostile pause would otherwise be written out as millions of measures
    _check_length(ticks / max(1, midi_file.ticksPerQuarterNote), source.name)
    return translate.midiFileToStream(
        midi_file, quantizePost=True, quarterLengthDivisors=_MIDI_QUANTIZATION
    )


def _check_length(quarters: float, name: str) -> None:
    if quarters > MAX_QUARTERS:
        raise ScoreUnreadable(f"“{name}” is far too long to be one piece.")


def _exported(music: Any) -> bytes:
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    exported = GeneralObjectExporter(music).parse()
    return exported if isinstance(exported, bytes) else str(exported).encode("utf-8")
