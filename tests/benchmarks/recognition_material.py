"""A shelf of about 100 pieces from the corpus inside music21, read quickly and kept.

String quartets and madrigals are laid on two staves (upper voices right hand, lower ones left);
chorales are the look-alikes. The files stay where music21 has them; only note columns are kept, in
a file that the caller names.
"""

from __future__ import annotations

import pickle
import zipfile
from fractions import Fraction
from pathlib import Path
from random import Random

from lxml import etree

from companion.score.model import ScoreNote

STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
COMPOSERS = (
    "beethoven", "mozart", "haydn", "schumann", "chopin", "joplin", "weber", "cpebach", "schubert",
    "handel", "corelli", "beach", "monteverdi", "trecento",
)  # fmt: skip
TWINS = ("opus48no2", "opus41no1", "bwv248.9")
"""Files of music21 that hold the same music as another: nobody can tell them apart."""


def corpus_pieces(kept: Path) -> dict[str, list[ScoreNote]]:
    """The pieces by their file names; read once, then from ``kept``."""
    if kept.is_file():
        columns = pickle.loads(kept.read_bytes())
    else:
        columns = _read_corpus()
        kept.write_bytes(pickle.dumps(columns))
    return {
        name: [
            ScoreNote(f"n{k}", onset, length, pitch, staff, 1, 0, onset, grace=grace)
            for k, (onset, length, pitch, staff, grace) in enumerate(notes)
        ]
        for name, notes in columns.items()
    }


def _read_corpus() -> dict[str, list[tuple]]:
    from music21 import corpus

    paths = {str(p).split("/corpus/")[1]: Path(p) for p in corpus.getCorePaths()}
    paths = {n: p for n, p in paths.items() if p.suffix in (".xml", ".mxl", ".musicxml")}
    chosen = [n for n in sorted(paths) if n.startswith(COMPOSERS[:-2])]
    rng = Random(1)
    for prefix, count in (("bach/bwv", 75), ("monteverdi", 14), ("trecento", 20)):
        some = [n for n in sorted(paths) if n.startswith(prefix)]
        chosen += rng.sample(some, count)
    columns = {}
    for name in chosen:
        if any(twin in name for twin in TWINS):
            continue
        notes = _read(paths[name])
        if len(notes) > 100:
            columns[name] = notes
    return columns


def _read(path: Path) -> list[tuple]:
    data = path.read_bytes()
    if path.suffix == ".mxl":
        with zipfile.ZipFile(path) as archive:
            inner = next(n for n in archive.namelist() if n.endswith("xml") and "META" not in n)
            data = archive.read(inner)
    parser = etree.XMLParser(load_dtd=False, no_network=True, resolve_entities=False, recover=True)
    parts = etree.fromstring(data, parser).findall("part")
    notes: list[tuple] = []
    for number, part in enumerate(parts):
        upper = number < (len(parts) + 1) // 2
        _read_part(part, len(parts) == 1, 1 if upper else 2, notes)
    return sorted(notes, key=lambda note: (note[0], note[2]))


def _read_part(part: etree._Element, alone: bool, staff: int, notes: list[tuple]) -> None:
    at, before, divisions, transposed = Fraction(0), Fraction(0), 1, 0
    for measure in part.findall("measure"):
        furthest = at
        for element in measure:
            if element.tag == "attributes":
                divisions = int(element.findtext("divisions") or divisions)
                transposed = int(element.findtext("transpose/chromatic") or transposed)
            elif element.tag in ("backup", "forward"):
                moved = Fraction(int(element.findtext("duration")), divisions)
                at += moved if element.tag == "forward" else -moved
            elif element.tag == "note":
                grace, chord = element.find("grace") is not None, element.find("chord") is not None
                length = Fraction(int(element.findtext("duration") or 0), divisions)
                length = Fraction(0) if grace else length
                onset = before if chord else at
                pitch = element.find("pitch")
                tied_on = any(tie.get("type") == "stop" for tie in element.findall("tie"))
                if pitch is not None and element.find("cue") is None and not tied_on:
                    key = STEPS[pitch.findtext("step")] + 12 * (int(pitch.findtext("octave")) + 1)
                    key += int(float(pitch.findtext("alter") or 0)) + transposed
                    own = element.findtext("staff")
                    hand = min(2, int(own)) if alone and own else staff
                    notes.append((onset, length, key, hand, grace))
                if not chord:
                    before, at = at, at + length
            furthest = max(furthest, at)
        at = furthest
