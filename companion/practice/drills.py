"""Drills: their notes engraved, and from the notes that were played to how each try went."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from companion.listening.measuring.drills import DrillResult, judge_drill

if TYPE_CHECKING:
    from companion.analysis.grouping.drills import Drill
    from companion.listening.notes import HeardNote
    from companion.score.engraving.model import EngravedPage

_SPACES_A_NOTE, _SPACES_BESIDE = 6.0, 30.0
_HEIGHT_SPACES = 30.0


def hear_drill(drill: Drill, heard: Sequence[HeardNote]) -> DrillResult:
    """Match the notes of a take with a drill and judge every try in it."""
    from companion.listening.matching.match import match_take

    return judge_drill(drill, match_take(drill.notes, heard))


def engraved_drill(drill: Drill, key_fifths: int) -> EngravedPage | None:
    """Engrave the notes of a drill in their rhythm, for a worker process; None without notes."""
    from companion.analysis.grouping.drill_notation import drill_as_notes
    from companion.score.engraving.engraver import engrave
    from companion.score.engraving.model import Layout
    from companion.score.writing.snippet import snippet_as_musicxml

    notes = drill_as_notes(drill)
    pages: list[EngravedPage] = []
    layout = Layout(
        # so wide that the only line of it is not stretched
        page_width=_SPACES_BESIDE + _SPACES_A_NOTE * len(notes),
        page_height=_HEIGHT_SPACES,
        margin=2.0,
        density=1.0,
    )
    engrave(snippet_as_musicxml(notes, key_fifths), layout, emit=pages.append)
    return pages[0] if pages and pages[0].systems else None
