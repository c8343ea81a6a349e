"""Counting the attacks of a MusicXML part straight from the file: an oracle for the reader.

Shares no code with the program on purpose: own unzipping, own arithmetic, own merging of ties.
Facts of the format from the W3C MusicXML 4.0 schema: ``divisions`` per quarter, ``backup`` and
``forward`` move the cursor, a ``chord`` note does not, ``grace`` has no duration, ``tie`` is sound
(one attack for each chain), ``pitch`` is the sounding pitch under an octave line.
"""

from __future__ import annotations

import zipfile
from collections import Counter
from fractions import Fraction

from lxml import etree

STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def part_of(path, part_id):
    if path.suffix == ".mxl":
        with zipfile.ZipFile(path) as archive:
            container = etree.fromstring(archive.read("META-INF/container.xml"))
            name = container.find(".//{*}rootfile").get("full-path")
            root = etree.fromstring(archive.read(name))
    else:
        root = etree.parse(str(path)).getroot()
    (part,) = [part for part in root.findall("part") if part.get("id") == part_id]
    return part


def visible_heads(part):
    """Yield (measure index, offset, length, midi pitch, starts a tie, stops a tie)."""
    divisions = 1
    transposed = 0
    for index, measure in enumerate(part.findall("measure")):
        cursor = onset = stem = Fraction(0)
        for element in measure:
            if element.tag == "attributes":
                divisions = int(element.findtext("divisions") or divisions)
                if element.find("transpose") is not None:
                    transposed = int(element.findtext("transpose/chromatic") or 0)
                    transposed += 12 * int(element.findtext("transpose/octave-change") or 0)
            length = Fraction(element.findtext("duration") or 0) / divisions
            if element.tag == "backup":
                cursor = max(cursor - length, Fraction(0))
            elif element.tag == "forward":
                cursor += length
            elif element.tag == "note":
                if element.find("grace") is not None:
                    length = Fraction(0)
                if element.find("chord") is None:
                    onset, cursor, stem = cursor, cursor + length, length
                length = max(length, stem)  # noteheads on one stem end together
                seen = element.get("print-object") != "no" and element.find("cue") is None
                pitch = element.find("pitch")
                if pitch is not None and seen:
                    ties = [tie.get("type") for tie in element.findall("tie")]
                    midi = (
                        12 * (int(pitch.findtext("octave")) + 1)
                        + STEPS[pitch.findtext("step")]
                        + int(float(pitch.findtext("alter") or 0))
                        + transposed
                    )
                    yield index, onset, length, midi, "start" in ties, "stop" in ties


def attacks(part, starts):
    """Count (measure index, offset, midi pitch) of everything that is struck.

    ``starts`` are the places of the measures in quarters. A notehead that ends a tie is no attack
    when a notehead of the same pitch, beginning a tie, reaches up to it.
    """
    heads = list(visible_heads(part))
    reached = Counter(
        (starts[index] + offset + length, midi)
        for index, offset, length, midi, begins, _ in heads
        if begins
    )
    counted = Counter()
    for index, offset, _, midi, _, ends in heads:
        if ends and reached[starts[index] + offset, midi]:
            continue
        counted[index, offset, midi] += 1
    return counted
