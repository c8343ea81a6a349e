"""The parts of a written score, and which of them is the pianist's.

Works on the lxml tree of a MusicXML score. Part-wise is the working form; time-wise scores are
turned around first.
"""

from __future__ import annotations

import copy
import re
from typing import TYPE_CHECKING

from lxml import etree

from companion.errors import ScoreUnreadable
from companion.score.reading.joining import join_hands
from companion.score.reading.part_choice import PartChoice
from companion.score.reading.system_signs import copy_system_signs

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

MAX_PARTS = 500
_LONGEST_NAME = 120

_KEYBOARD_NAME = re.compile(
    r"pian|klavier|clavier|clavecin|clavicord|clavichord|keyboard|harpsichord|cembal|spinet|"
    r"virginal|celesta|tasten|organ|orgel|orgue|harmonium",
    re.IGNORECASE,
)
_PIANO_NAME = re.compile(r"pian|klavier", re.IGNORECASE)
_HAND_NAME = re.compile(
    r"^\W*(r\.? ?h\.?|l\.? ?h\.?|m\.? ?[dsg]\.?|right|left|upper|lower|treble|bass|"
    r"(right|left)[ -]hand|linke?|rechte?|main (droite|gauche)|mano (destra|sinistra))\W*$",
    re.IGNORECASE,
)
_NAMELESS = re.compile(
    r"^\W*((music ?xml )?part|staff|track|instrument|spine|voice)?[ _]*\d*\W*$", re.IGNORECASE
)


def partwise(root: Element, name: str) -> Element:
    """Return the score with the measures inside the parts, whatever way the file has it.

    Raises
    ------
    ScoreUnreadable
        The XML is something else than a score.
    """
    if root.tag == "score-partwise":
        return root
    if root.tag == "score-timewise":
        return _turned_around(root)
    if root.tag == "opus":
        raise ScoreUnreadable(
            f"“{name}” is a list of several scores: please open one of those instead."
        )
    raise ScoreUnreadable(f"“{name}” is an XML file, but not a score.")


def _turned_around(root: Element) -> Element:
    turned = etree.Element("score-partwise", dict(root.attrib))
    parts: dict[str, Element] = {}
    for child in root:
        if child.tag != "measure":
            turned.append(child)
    for measure in root.findall("measure"):
        for part in measure.findall("part"):
            part_id = part.get("id") or ""
            if part_id not in parts:
                parts[part_id] = etree.SubElement(turned, "part", {"id": part_id})
            turned_measure = etree.SubElement(parts[part_id], "measure", dict(measure.attrib))
            turned_measure.extend(list(part))
    return turned


def part_choices(root: Element) -> tuple[PartChoice, ...]:
    """List the parts of a part-wise score, in the order of the page."""
    described = {
        score_part.get("id") or "": score_part
        for score_part in root.iterfind("part-list/score-part")
    }
    choices = [
        _choice(part, described.get(part.get("id") or ""))
        for part in root.findall("part")[:MAX_PARTS]
    ]
    return tuple(_with_joined_hands(choices))


def _choice(part: Element, score_part: Element | None) -> PartChoice:
    name, program = "", ""
    if score_part is not None:
        printed = score_part.findtext("part-name") or score_part.findtext(".//instrument-name")
        name = " ".join((printed or "").split())[:_LONGEST_NAME]
        program = (score_part.findtext(".//midi-program") or "").strip()
    notes = sum(1 for _ in part.iterfind("measure/note/pitch"))
    staves = _staves(part)
    is_piano = bool(_KEYBOARD_NAME.search(name)) or (
        program.isdigit() and 1 <= int(program) <= 8 and _is_nameless(name)
    )
    return PartChoice(
        part_id=part.get("id") or "",
        name=name,
        staves=staves,
        note_count=notes,
        looks_like_piano=is_piano or staves >= 2,
    )


def _staves(part: Element) -> int:
    counts = [1]
    for element in part.iterfind("measure/attributes/staves"):
        text = (element.text or "").strip()
        if text.isdigit():
            counts.append(int(text))
    return min(max(counts), 8)


def _is_nameless(name: str) -> bool:
    return bool(_NAMELESS.match(name))


def has_name(choice: PartChoice) -> bool:
    """Tell whether a part is named, other than by what a program writes for want of a name."""
    return not _is_nameless(choice.name)


def _with_joined_hands(choices: list[PartChoice]) -> list[PartChoice]:
    """Offer two neighbouring one-staff parts as one where they are the hands of one player."""
    with_notes = [choice for choice in choices if choice.note_count]
    result: list[PartChoice] = []
    for choice in choices:
        before = result[-1] if result else None
        if before is not None and _are_two_hands(before, choice, len(with_notes)):
            result[-1] = PartChoice(
                part_id=f"{before.part_id}+{choice.part_id}",
                name=(before.name if before.name == choice.name else "") or "Piano",
                staves=2,
                note_count=before.note_count + choice.note_count,
                looks_like_piano=True,
            )
        else:
            result.append(choice)
    return result


def _are_two_hands(upper: PartChoice, lower: PartChoice, parts_with_notes: int) -> bool:
    if upper.staves != 1 or lower.staves != 1 or not (upper.note_count and lower.note_count):
        return False
    if _HAND_NAME.match(upper.name) and _HAND_NAME.match(lower.name):
        return True
    if _KEYBOARD_NAME.search(upper.name) and _KEYBOARD_NAME.search(lower.name):
        return True
    return parts_with_notes == 2 and _is_nameless(upper.name) and _is_nameless(lower.name)


def default_choice(choices: tuple[PartChoice, ...], name: str) -> PartChoice:
    """Return the part that is most likely the pianist's.

    Raises
    ------
    ScoreUnreadable
        No part holds a note.
    """
    with_notes = [choice for choice in choices if choice.note_count]
    if not with_notes:
        raise ScoreUnreadable(f"“{name}” holds no notes.")
    return max(
        with_notes,
        key=lambda choice: (
            choice.looks_like_piano,
            bool(_PIANO_NAME.search(choice.name)),
            choice.staves >= 2,
            choice.note_count,
        ),
    )


def chosen_part(choices: tuple[PartChoice, ...], part_id: str | None, name: str) -> PartChoice:
    """Return the part with this id, or the default where the id is None.

    Raises
    ------
    ScoreUnreadable
        There is no such part, or it holds no note.
    """
    if part_id is None:
        return default_choice(choices, name)
    for choice in choices:
        if choice.part_id == part_id:
            if not choice.note_count:
                raise ScoreUnreadable(f"The part “{choice.name or part_id}” of “{name}” is empty.")
            return choice
    raise ScoreUnreadable(f"“{name}” has no part “{part_id}”.")


def keep_only(root: Element, choice: PartChoice) -> Element:
    """Return a score with the chosen part alone, as its part "P1"."""
    wanted = choice.part_id.split("+")
    by_id = {part.get("id") or "": part for part in root.findall("part")}
    if choice.part_id in by_id:
        wanted = [choice.part_id]
        part = by_id[choice.part_id]
    else:
        part = join_hands(by_id[wanted[0]], by_id[wanted[1]])
    top = next(iter(by_id.values()))
    if top.get("id") not in wanted:
        copy_system_signs(top, part)
    kept = etree.Element("score-partwise", {"version": "4.0"})
    for child in root:
        if child.tag not in ("part", "part-list"):
            kept.append(copy.deepcopy(child))
    part_list = etree.SubElement(kept, "part-list")
    score_part = etree.SubElement(part_list, "score-part", {"id": "P1"})
    etree.SubElement(score_part, "part-name").text = choice.name
    part.set("id", "P1")
    kept.append(part)
    return kept
