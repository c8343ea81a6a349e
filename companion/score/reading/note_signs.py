"""How a note is spelled, and which ornament its signs ask for (W3C MusicXML 4.0)."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from lxml.etree import _Element as Element

_ORNAMENTS = {
    "trill-mark": "trill",
    "turn": "turn",
    "delayed-turn": "delayed turn",
    "inverted-turn": "inverted turn",
    "delayed-inverted-turn": "delayed inverted turn",
    "vertical-turn": "turn",
    "inverted-vertical-turn": "inverted turn",
    "shake": "trill",
    "wavy-line": "trill",
    "mordent": "mordent",
    "inverted-mordent": "inverted mordent",
    "schleifer": "slide",
    "tremolo": "tremolo",
    "haydn": "turn",
}


def spelled(pitch: Element) -> str:
    """Return the written name of a <pitch>: step, accidentals, octave ("Bb3", "F##5")."""
    facts = {child.tag: (child.text or "").strip() for child in pitch}
    try:
        alter = round(float(facts.get("alter") or 0))
    except (ValueError, OverflowError):
        alter = 0
    accidentals = "#" * min(alter, 4) if alter > 0 else "b" * min(-alter, 4)
    return f"{facts.get('step', '')}{accidentals}{facts.get('octave', '')}"


def ornament_name(notations: Iterable[Element]) -> str:
    """Return the name of the ornament among the notations of a note, empty for none."""
    wavy = sliding = ""
    for notation in notations:
        if notation.tag in ("glissando", "slide") and notation.get("type") == "start":
            sliding = "glissando"
        if notation.tag != "ornaments":
            continue
        for sign in notation:
            if sign.tag == "wavy-line":
                # only its start is a sign of its own; a trill mark beside it says the same
                wavy = "trill" if sign.get("type") == "start" else wavy
            elif sign.tag in _ORNAMENTS:
                return _ORNAMENTS[sign.tag]
    return wavy or sliding
