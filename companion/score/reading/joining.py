"""Joining two parts of one staff each into one part of two staves, as a piano score has it.

Humdrum, ABC and MIDI sources, and some MusicXML ones, write each hand as a part of its own.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import TYPE_CHECKING

from lxml import etree

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

_LOWER_VOICES_FROM = 4  # voices 5, 6, ... belong to the lower staff (common practice)
_MOST_DIVISIONS = 1_000_000
_PLAIN_NUMBER = re.compile(r"[+-]?\d{1,15}(\.\d{0,15})?", re.ASCII)
_ONCE = ("barline", "sound", "print")


def join_hands(upper: Element, lower: Element) -> Element:
    """Return one part with the upper part on staff 1 and the lower part on staff 2.

    Measures are paired by their place. Both parts get a common number of divisions. What belongs
    to both staves (bar lines, jumps) is taken from the upper part.
    """
    divisions = math.lcm(_common_divisions(upper), _common_divisions(lower))
    joined = etree.Element("part")
    upper_measures, lower_measures = upper.findall("measure"), lower.findall("measure")
    upper_scale, lower_scale = _Scale(divisions), _Scale(divisions)
    for index in range(max(len(upper_measures), len(lower_measures))):
        above = upper_measures[index] if index < len(upper_measures) else None
        below = lower_measures[index] if index < len(lower_measures) else None
        model = above if above is not None else below
        assert model is not None
        measure = etree.SubElement(joined, "measure", dict(model.attrib))
        end_ticks = 0
        if above is not None:
            end_ticks = upper_scale.rescale(above)
            _label(above, "1", 0)
            if index == 0:
                _declare_staves(above)
            measure.extend([child for child in above if not _is_right_barline(child)])
        if below is not None:
            lower_scale.rescale(below)
            _label(below, "2", _LOWER_VOICES_FROM)
            if end_ticks:
                backup = etree.SubElement(measure, "backup")
                etree.SubElement(backup, "duration").text = str(end_ticks)
            measure.extend([child for child in below if child.tag not in _ONCE])
        if above is not None:
            measure.extend([child for child in list(above) if _is_right_barline(child)])
    return joined


class _Scale:
    """Brings the durations of one part to the common divisions, measure by measure."""

    def __init__(self, divisions: int) -> None:
        self._divisions = divisions
        self._factor = Fraction(divisions)

    def rescale(self, measure: Element) -> int:
        """Rescale in place and return where the cursor stands at the end, in ticks."""
        cursor = 0
        for child in measure:
            if child.tag == "attributes":
                own = child.find("divisions")
                if own is not None:
                    self._factor = Fraction(self._divisions) / _positive(own.text)
                    own.text = str(self._divisions)
            duration = child.find("duration")
            if duration is None:
                continue
            ticks = round(_number(duration.text) * self._factor)
            duration.text = str(ticks)
            if child.tag == "backup":
                cursor = max(0, cursor - ticks)
            elif child.tag == "forward" or (child.tag == "note" and child.find("chord") is None):
                cursor += ticks
        return cursor


def _common_divisions(part: Element) -> int:
    common = 1
    for element in part.iterfind("measure/attributes/divisions"):
        common = math.lcm(common, _positive(element.text).numerator)
        if common > _MOST_DIVISIONS:
            return _MOST_DIVISIONS
    return common


def _number(text: str | None) -> Fraction:
    text = (text or "").strip()
    # plain numbers only: "1e999999999" would take for ever to turn into a fraction
    return Fraction(text) if _PLAIN_NUMBER.fullmatch(text) else Fraction(0)


def _positive(text: str | None) -> Fraction:
    value = _number(text)
    return value if value > 0 else Fraction(1)


def _is_right_barline(child: Element) -> bool:
    return child.tag == "barline" and child.get("location", "right") == "right"


def _label(measure: Element, staff: str, add_to_voice: int) -> None:
    """Write staff and voice into everything that has one."""
    for child in measure:
        if child.tag in ("note", "forward", "direction", "harmony"):
            voice = child.find("voice")
            if voice is not None and (voice.text or "").strip().isdigit():
                voice.text = str(int(voice.text or "1") + add_to_voice)
            _set_staff(child, staff)
        elif child.tag == "attributes":
            for sign in child:
                if sign.tag in ("clef", "key", "transpose", "staff-details"):
                    sign.set("number", staff)


# what may follow <staff>, in the order of the MusicXML 4.0 schema
_AFTER_STAFF = ("beam", "notations", "lyric", "play", "listen", "sound", "listening")


def _set_staff(child: Element, staff: str) -> None:
    existing = child.find("staff")
    if existing is not None:
        existing.text = staff
        return
    element = etree.Element("staff")
    element.text = staff
    for place, sibling in enumerate(child):
        if sibling.tag in _AFTER_STAFF:
            child.insert(place, element)
            return
    child.append(element)


def _declare_staves(measure: Element) -> None:
    attributes = measure.find("attributes")
    if attributes is None:
        attributes = etree.Element("attributes")
        measure.insert(0, attributes)
    staves = etree.Element("staves")
    staves.text = "2"
    for place, sibling in enumerate(attributes):
        if sibling.tag not in ("footnote", "level", "divisions", "key", "time"):
            attributes.insert(place, staves)
            return
    attributes.append(staves)
