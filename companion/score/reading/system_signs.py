"""Signs for all players that a larger score prints once, above its top part.

Tempi, rehearsal marks, and jumps stand over the singer's or the first player's staff only; the
pianist's part alone would lose them. So they are copied to the pianist's part before the others
are left out. Only signs at the beginning or at the end of a measure are copied: in between there
is no safe place to put them.
"""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING

from lxml import etree

from companion.score.reading.cues import is_heading
from companion.score.reading.repeat_signs import is_jump_text
from companion.score.reading.tempo import is_tempo_text

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

_SIGNS = ("metronome", "rehearsal", "segno", "coda")
_SOUNDS = ("tempo", "dacapo", "dalsegno", "fine", "tocoda", "coda", "segno")


def copy_system_signs(top: Element, part: Element) -> None:
    """Copy the signs for all players from the top part to another part, in place.

    A measure that has such signs of its own is left as it is.
    """
    for above, below in zip(top.findall("measure"), part.findall("measure"), strict=False):
        if any(_is_for_all(direction) for direction in below.findall("direction")):
            continue
        opening, closing = _at_the_ends(above)
        for place, direction in enumerate(opening, start=_first_place(below)):
            below.insert(place, _for_upper_staff(direction))
        for direction in closing:
            below.insert(_last_place(below), _for_upper_staff(direction))


def _is_for_all(direction: Element) -> bool:
    if any(direction.find(f"direction-type/{sign}") is not None for sign in _SIGNS):
        return True
    sound = direction.find("sound")
    if sound is not None and any(name in sound.attrib for name in _SOUNDS):
        return True
    parts = direction.iterfind("direction-type/words")
    words = " ".join(" ".join(part.text or "" for part in parts).split())
    return is_tempo_text(words) or is_jump_text(words) or is_heading(words)


def _at_the_ends(measure: Element) -> tuple[list[Element], list[Element]]:
    """Return the signs before the first note and those behind the last one."""
    opening: list[Element] = []
    closing: list[Element] = []
    begun = False
    for child in measure:
        if child.tag in ("note", "forward", "backup"):
            begun = True
            closing.clear()
        elif child.tag == "direction" and _is_for_all(child) and child.find("offset") is None:
            (closing if begun else opening).append(child)
    return opening, closing


def _first_place(measure: Element) -> int:
    """Return the place behind layout, attributes and a left bar line."""
    for place, child in enumerate(measure):
        left = child.tag == "barline" and child.get("location") == "left"
        if child.tag not in ("print", "attributes") and not left:
            return place
    return len(measure)


def _last_place(measure: Element) -> int:
    last = len(measure)
    while last and measure[last - 1].tag == "barline":
        last -= 1
    return last


def _for_upper_staff(direction: Element) -> Element:
    copied = copy.deepcopy(direction)
    for label in (*copied.findall("voice"), *copied.findall("staff")):
        copied.remove(label)
    staff = etree.Element("staff")
    staff.text = "1"
    sound = copied.find("sound")
    if sound is None:
        copied.append(staff)
    else:
        sound.addprevious(staff)
    return copied
