"""Reading the training scores and their analyses, for ``train.py`` only.

The scores are MusicXML as OpenScore publishes it: any number of parts, all of which sound. The
reader of the program takes the piano part of a song; here the voice counts too, and speed matters
more than ornaments.
"""

from __future__ import annotations

import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from lxml import etree

from companion.score.model import Measure, Score, ScoreNote

STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """What the analyst wrote for a span: see the README beside the data for the fields."""

    start: float
    end: float
    key: str
    degree: str
    quality: str
    inversion: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Song:
    """One piece with its analysis."""

    name: str
    score: Score
    piano_only: Score
    labels: tuple[Label, ...]


def read_songs(folder: Path) -> Iterator[Song]:
    """All pieces of a folder with ``cases`` and ``scores``, in the order of their names."""
    for path in sorted((folder / "cases").glob("*.json")):
        case = json.loads(path.read_text(encoding="utf-8"))
        parts = read_parts(folder / case["musicxml"])
        fields = Label.__slots__
        labels = tuple(Label(**{name: span[name] for name in fields}) for span in case["spans"])
        last = parts[-1:] if len(parts) > 1 else parts
        yield Song(name=case["id"], score=joined(parts), piano_only=joined(last), labels=labels)


Part = tuple[list[Measure], list[ScoreNote]]


def joined(parts: list[Part]) -> Score:
    """One score of all parts, with the measures of the last one (the piano)."""
    notes = sorted(
        (note for _, found in parts for note in found),
        key=lambda note: (note.onset_quarters, note.pitch),
    )
    return Score(title="", composer="", measures=tuple(parts[-1][0]), notes=tuple(notes))


def read_parts(path: Path) -> list[Part]:
    """The parts of a MusicXML file, plain or zipped."""
    if path.suffix == ".mxl":
        with zipfile.ZipFile(path) as archive:
            name = next(n for n in archive.namelist() if not n.startswith("META-INF"))
            data = archive.read(name)
    else:
        data = path.read_bytes()
    return [_read_part(part) for part in etree.fromstring(data).findall("part")]


def _read_part(part: etree._Element) -> Part:
    measures: list[Measure] = []
    notes: list[ScoreNote] = []
    divisions, fifths, beats, beat_type = 1, 0, 4, 4
    start = Fraction(0)
    for index, element in enumerate(part.findall("measure")):
        place = longest = Fraction(0)
        chord_place = place
        for child in element:
            if child.tag == "attributes":
                divisions = int(child.findtext("divisions") or divisions)
                fifths = int(child.findtext("key/fifths") or fifths)
                beats = sum(int(n) for n in (child.findtext("time/beats") or str(beats)).split("+"))
                beat_type = int(child.findtext("time/beat-type") or beat_type)
            elif child.tag == "backup":
                place -= Fraction(int(child.findtext("duration")), divisions)
            elif child.tag == "forward":
                place += Fraction(int(child.findtext("duration")), divisions)
            elif child.tag == "note" and child.find("grace") is None:
                length = Fraction(int(child.findtext("duration") or 0), divisions)
                if child.find("chord") is None:
                    chord_place = place
                    place += length
                note = _note(child, start + chord_place, length, index, len(notes))
                if note is not None:
                    notes.append(note)
            longest = max(longest, place)
        length = longest or Fraction(4 * beats, beat_type)
        measures.append(
            Measure(
                index=index,
                number=element.get("number", ""),
                start_quarters=start,
                duration_quarters=length,
                beats=beats,
                beat_type=beat_type,
                key_fifths=fifths,
            )
        )
        start += length
    return measures, notes


def _note(
    element: etree._Element, onset: Fraction, length: Fraction, measure: int, count: int
) -> ScoreNote | None:
    pitch = element.find("pitch")
    if pitch is None or element.find("cue") is not None:
        return None
    step, octave = pitch.findtext("step"), int(pitch.findtext("octave"))
    alter = round(float(pitch.findtext("alter") or 0))
    sign = "#" * alter if alter > 0 else "b" * -alter
    return ScoreNote(
        note_id=str(count),
        onset_quarters=onset,
        duration_quarters=length,
        pitch=12 * (octave + 1) + STEPS[step] + alter,
        measure_index=measure,
        spelling=f"{step}{sign}{octave}",
    )
