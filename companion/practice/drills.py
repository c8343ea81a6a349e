"""Listening to a drill: from the notes that were played to how each try went."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from companion.listening.measuring.drills import DrillResult, judge_drill

if TYPE_CHECKING:
    from companion.analysis.grouping.drills import Drill
    from companion.listening.notes import HeardNote


def hear_drill(drill: Drill, heard: Sequence[HeardNote]) -> DrillResult:
    """Match the notes of a take with a drill and judge every try in it."""
    from companion.listening.matching.match import match_take

    return judge_drill(drill, match_take(drill.notes, heard))
