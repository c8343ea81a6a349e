"""The fingers that are printed in the score: what an editor suggests.

They are suggestions too, but those of somebody who knew the piece: they are shown first, and the
model can be asked to fit its own around them (``chosen`` of the suggestions).
"""

from __future__ import annotations

from companion.score.files.safe_xml import parse_untrusted
from companion.score.model import Score


def printed_fingers(score: Score) -> dict[str, int]:
    """Fingers by note id, from the ``fingering`` elements of the score's MusicXML.

    Where a change of fingers is printed ("3-2") the first one is meant; alternatives that MusicXML
    marks as such, and texts that are no finger, are left out.
    """
    if not score.musicxml:
        return {}
    known = {note.note_id for note in score.notes}
    found: dict[str, int] = {}
    for note in parse_untrusted(score.musicxml, score.title).iter("note"):
        note_id = note.get("id")
        if note_id not in known or note_id is None:
            continue
        for sign in note.iterfind("notations/technical/fingering"):
            text = (sign.text or "").strip()
            if sign.get("alternate") != "yes" and text[:1] in tuple("12345"):
                found.setdefault(note_id, int(text[0]))
    return found
