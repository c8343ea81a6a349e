"""Writes a piece as MusicXML 4.0 (W3C, https://www.w3.org/2021/06/musicxml40/)."""

from __future__ import annotations

import io
import zipfile
from fractions import Fraction
from itertools import pairwise
from xml.etree import ElementTree as Tree

from score_writing.engraving_rules import check_beams, set_accidentals, set_beams, set_stems
from score_writing.notation import ARTICULATIONS, ORNAMENTS, Event, Line, Sign
from score_writing.piece import Measure, Piece, Section, Tempo

COMPOSER = "Ottiline Varrowmere"
RIGHTS = "CC0 1.0 Universal: no rights reserved"
SOFTWARE = "the score writer of the sample scores"
DIVISIONS = 24  # per quarter: thirty-seconds, triplet eighths and sextuplet sixteenths are whole
DYNAMICS = ("pp", "p", "mp", "mf", "f", "ff", "fp", "sf", "sfz")
HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">\n'
)
NAVIGATION_WORDS = {
    "fine": "Fine",
    "dacapo": "D.C. al Fine",
    "dalsegno": "D.S. al Coda",
    "tocoda": "To Coda",
}


def musicxml(piece: Piece) -> bytes:
    """The whole file."""
    root = Tree.Element("score-partwise", version="4.0")
    _put(_put(root, "work"), "work-title", piece.title)
    identification = _put(root, "identification")
    _put(identification, "creator", COMPOSER, type="composer")
    _put(identification, "rights", RIGHTS)
    encoding = _put(identification, "encoding")
    _put(encoding, "software", SOFTWARE)
    for element in ("accidental", "beam", "stem"):
        _put(encoding, "supports", element=element, type="yes")
    part_list = _put(root, "part-list")
    score_part = _put(part_list, "score-part", id="P1")
    _put(score_part, "part-name", "Piano", **{"print-object": "no"})
    _put(_put(score_part, "score-instrument", id="P1-I1"), "instrument-name", "Piano")
    midi = _put(score_part, "midi-instrument", id="P1-I1")
    _put(midi, "midi-channel", "1")
    _put(midi, "midi-program", "1")
    part = _put(root, "part", id="P1")
    measures = piece.measures()
    set_accidentals(measures)
    _end_hairpins_early(measures)
    clefs = {1: "G2", 2: "F4"}
    writer = _Writer(first_clefs=dict(clefs))
    for measure in measures:
        set_beams(measure, piece.beam_quarters.get(measure.meter, _beat(measure.meter)))
        check_beams(measure)
        set_stems(measure, clefs)
        part.append(writer.measure(measure))
    Tree.indent(root, " ")
    return (HEAD + Tree.tostring(root, encoding="unicode") + "\n").encode()


def compressed(xml: bytes, name: str) -> bytes:
    """The same as .mxl: a zip archive with its container file, without dates."""
    container = Tree.Element("container")
    _put(
        _put(container, "rootfiles"),
        "rootfile",
        **{
            "full-path": name,
            "media-type": "application/vnd.recordare.musicxml+xml",
        },
    )
    listing = b'<?xml version="1.0" encoding="UTF-8"?>\n' + Tree.tostring(container)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for path, content, packing in (
            ("mimetype", b"application/vnd.recordare.musicxml", zipfile.ZIP_STORED),
            ("META-INF/container.xml", listing, zipfile.ZIP_DEFLATED),
            (name, xml, zipfile.ZIP_DEFLATED),
        ):
            entry = zipfile.ZipInfo(path, date_time=(1980, 1, 1, 0, 0, 0))
            entry.create_system, entry.external_attr = 3, 0o644 << 16
            archive.writestr(entry, content, compress_type=packing)
    return out.getvalue()


def _end_hairpins_early(measures: list[Measure]) -> None:
    """A hairpin that ends with a bar line ends before it, so that no scrap of it starts a line."""
    for before, measure in pairwise(measures):
        for name, line in measure.voices.items():
            for item in list(line):
                if isinstance(item, Sign) and item.text == "!" and not item.onset:
                    line.remove(item)
                    before.voices[name].append(Sign(before.length, "!", item.staff))


def _beat(meter: tuple[int, int]) -> Fraction:
    beats, unit = meter
    compound = beats > 3 and beats % 3 == 0 and unit >= 8
    return Fraction(12, unit) if compound else Fraction(4, unit)


def _put(parent: Tree.Element, name: str, text: str = "", **attributes: str) -> Tree.Element:
    child = Tree.SubElement(parent, name, attributes)
    if text:
        child.text = text
    return child


def _ticks(quarters: Fraction) -> str:
    ticks = quarters * DIVISIONS
    if ticks.denominator != 1:
        raise ValueError(f"{quarters} quarters are no whole number of divisions")
    return str(ticks.numerator)


class _Writer:
    """Writes measure after measure; holds what spans measures (slurs, wedges, pedal)."""

    def __init__(self, first_clefs: dict[int, str]) -> None:
        self.first_clefs = first_clefs
        self.open_slurs: dict[int, list[int]] = {}
        self.first = True

    def measure(self, measure: Measure) -> Tree.Element:
        element = Tree.Element("measure", number=str(measure.number))
        if measure.number == 0:
            element.set("implicit", "yes")
        starts, ends = measure.starts, measure.ends
        if starts is not None and (starts.left or starts.ending):
            barline = _put(element, "barline", location="left")
            if starts.left == "repeat":
                _put(barline, "bar-style", "heavy-light")
            if starts.ending:
                _put(barline, "ending", f"{starts.ending}.", number=starts.ending, type="start")
            if starts.left == "repeat":
                _put(barline, "repeat", direction="forward")
        self._attributes(element, measure)
        if starts is not None:
            self._opening(element, starts)
        for place, line in enumerate(measure.voices.values()):
            if place:
                backup = _put(element, "backup")
                _put(backup, "duration", _ticks(measure.length))
            self._line(element, line, ends.at_end if ends is not None and not place else ())
        if ends is not None:
            self._closing(element, ends)
        self.first = False
        return element

    def _attributes(self, element: Tree.Element, measure: Measure) -> None:
        if not (self.first or measure.new_key or measure.new_meter):
            return
        attributes = _put(element, "attributes")
        if self.first:
            _put(attributes, "divisions", str(DIVISIONS))
        if measure.new_key:
            _put(_put(attributes, "key"), "fifths", str(measure.fifths))
        if measure.new_meter:
            time = _put(attributes, "time")
            _put(time, "beats", str(measure.meter[0]))
            _put(time, "beat-type", str(measure.meter[1]))
        if self.first:
            _put(attributes, "staves", "2")
            for staff, clef in self.first_clefs.items():
                self._clef(attributes, staff, clef)

    def _clef(self, attributes: Tree.Element, staff: int, clef: str) -> None:
        element = _put(attributes, "clef", number=str(staff))
        _put(element, "sign", clef[0])
        _put(element, "line", clef[1])

    def _opening(self, element: Tree.Element, section: Section) -> None:
        if section.rehearsal:
            direction = _put(element, "direction", placement="above")
            _put(_put(direction, "direction-type"), "rehearsal", section.rehearsal)
        for sign in section.at_start:
            self._navigation(element, sign)
        if section.tempo is not None:
            self._tempo(element, section.tempo)

    def _tempo(self, element: Tree.Element, tempo: Tempo) -> None:
        direction = _put(element, "direction", placement="above")
        _put(
            _put(direction, "direction-type"), "words", f"{tempo.words} ", **{"font-weight": "bold"}
        )
        if tempo.printed:
            mark = _put(_put(direction, "direction-type"), "metronome", parentheses="yes")
            _put(mark, "beat-unit", tempo.unit)
            if tempo.dotted:
                _put(mark, "beat-unit-dot")
            _put(mark, "per-minute", str(tempo.per_minute))
        _put(direction, "staff", "1")
        speed = tempo.quarters_per_minute
        _put(direction, "sound", tempo=f"{float(speed):g}")

    def _navigation(self, element: Tree.Element, sign: str) -> None:
        direction = _put(element, "direction", placement="above")
        kind = _put(direction, "direction-type")
        if sign in ("segno", "coda"):
            _put(kind, sign)
        else:
            _put(
                kind,
                "words",
                NAVIGATION_WORDS[sign],
                justify="right",
                **{"font-style": "italic", "font-weight": "bold"},
            )
        _put(direction, "staff", "1")
        value = {"segno": "segno", "dalsegno": "segno", "coda": "coda", "tocoda": "coda"}
        _put(direction, "sound", **{sign: value.get(sign, "yes")})

    def _closing(self, element: Tree.Element, section: Section) -> None:
        if not (section.right or section.ending):
            return
        barline = _put(element, "barline", location="right")
        styles = {"double": "light-light", "repeat": "light-heavy", "final": "light-heavy"}
        if section.right:
            _put(barline, "bar-style", styles[section.right])
        if section.ending:
            last = section.right != "repeat"
            _put(barline, "ending", number=section.ending, type="discontinue" if last else "stop")
        if section.right == "repeat":
            _put(barline, "repeat", direction="backward")

    def _line(self, element: Tree.Element, line: Line, navigation: tuple[str, ...]) -> None:
        # "Fine" and its kin are written at the start of their measure: behind the last note
        # engravers leave an empty space or print them over the next measure.
        for sign in navigation:
            self._navigation(element, sign)
        for item in line:
            if isinstance(item, Event):
                self._notes(element, item)
            elif item.text.startswith("clef:"):
                self._clef(_put(element, "attributes"), item.staff, item.text[5:])
            else:
                self._sign(element, item)

    def _sign(self, element: Tree.Element, sign: Sign) -> None:
        text = sign.text
        above = text.startswith("W:")
        direction = _put(element, "direction", placement="above" if above else "below")
        kind = _put(direction, "direction-type")
        if text in DYNAMICS:
            _put(_put(kind, "dynamics"), text)
        elif text[:2] in ("w:", "W:"):
            _put(kind, "words", text[2:].replace("_", " "), **{"font-style": "italic"})
        elif text in ("<", ">", "!"):
            wedge = {"<": "crescendo", ">": "diminuendo", "!": "stop"}[text]
            _put(kind, "wedge", type=wedge, number=str(sign.staff))
        elif text in ("ped", "*"):
            pedal = {"ped": "start", "*": "stop"}[text]
            _put(kind, "pedal", type=pedal, line="yes", sign="no")
        else:
            raise ValueError(f"unknown sign {text!r}")
        _put(direction, "staff", str(sign.staff))

    def _notes(self, element: Tree.Element, event: Event) -> None:
        for place, one in enumerate(event.pitches or (None,)):
            note = _put(element, "note")
            if event.grace:
                _put(note, "grace", **({"slash": "yes"} if event.grace == "slashed" else {}))
            if place:
                _put(note, "chord")
            if one is None:
                rest = _put(note, "rest")
                if event.whole_measure:
                    rest.set("measure", "yes")
            else:
                spelled = _put(note, "pitch")
                _put(spelled, "step", one.step)
                if one.alter:
                    _put(spelled, "alter", str(one.alter))
                _put(spelled, "octave", str(one.octave))
            if not event.grace:
                _put(note, "duration", _ticks(event.duration))
            if event.tied_from:
                _put(note, "tie", type="stop")
            if "~" in event.signs:
                _put(note, "tie", type="start")
            _put(note, "voice", str(event.voice))
            if not event.whole_measure:
                _put(note, "type", event.type)
                for _ in range(event.dots):
                    _put(note, "dot")
            if one is not None and one.diatonic in event.accidentals:
                name, _, courtesy = event.accidentals[one.diatonic].partition(" ")
                _put(note, "accidental", name, **({"cautionary": "yes"} if courtesy else {}))
            if event.tuplet:
                change = _put(note, "time-modification")
                _put(change, "actual-notes", str(event.tuplet[0]))
                _put(change, "normal-notes", str(event.tuplet[1]))
            if one is not None and event.value > 1:
                _put(note, "stem", event.stem)
            _put(note, "staff", str(event.staff))
            if place == 0:
                for level, word in enumerate(event.beams, 1):
                    _put(note, "beam", word, number=str(level))
            self._notations(note, event, place)

    def _notations(self, note: Tree.Element, event: Event, place: int) -> None:
        notations = Tree.Element("notations")
        if event.tied_from:
            _put(notations, "tied", type="stop")
        if "~" in event.signs:
            _put(notations, "tied", type="start")
        if place == 0:
            self._slurs(notations, event)
            if event.tuplet_start:
                _put(
                    notations,
                    "tuplet",
                    type="start",
                    bracket="no" if event.beams else "yes",
                    **{"show-number": "actual" if event.tuplet_number else "none"},
                )
            if event.tuplet_stop:
                _put(notations, "tuplet", type="stop")
            ornaments = [ORNAMENTS[s[1:]] for s in event.signs if s[1:] in ORNAMENTS]
            if ornaments:
                _put(_put(notations, "ornaments"), ornaments[0])
        if place < len(event.fingers):
            _put(_put(notations, "technical"), "fingering", event.fingers[place])
        if place == 0:
            articulations = [ARTICULATIONS[s] for s in event.signs if s in ARTICULATIONS]
            if articulations:
                parent = _put(notations, "articulations")
                for name in articulations:
                    _put(parent, name)
            if "@" in event.signs:
                _put(notations, "fermata", type="upright")
        if "&" in event.signs:
            _put(notations, "arpeggiate")
        if len(notations):
            note.append(notations)

    def _slurs(self, notations: Tree.Element, event: Event) -> None:
        opened = self.open_slurs.setdefault(event.voice, [])
        base = {1: 1, 2: 3, 5: 5, 6: 7}[event.voice]
        for _ in range(event.signs.count(")")):
            if not opened:
                raise ValueError(f"a slur ends that has not begun, voice {event.voice}")
            _put(notations, "slur", type="stop", number=str(opened.pop()))
        for _ in range(event.signs.count("(")):
            number = base + len(opened)
            opened.append(number)
            _put(notations, "slur", type="start", number=str(number))
