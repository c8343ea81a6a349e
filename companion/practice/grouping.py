"""Groups and fingers of the piece on the stand, from the documents that the history keeps."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field

from companion.analysis.fingering.chosen import (
    ChosenFingers,
    chosen_from_document,
    chosen_to_document,
)
from companion.analysis.fingering.printed import printed_fingers
from companion.analysis.grouping.document import (
    grouping_from_document,
    grouping_to_document,
    way_of_document,
)
from companion.analysis.grouping.model import Grouping, Way
from companion.analysis.grouping.proposal import propose_grouping
from companion.errors import EditRefused
from companion.score.model import Score

GROUPING = "grouping"
"""Kind of the document that holds what was set in the grouping."""

FINGERS = "fingers"
"""Kind of the document that holds the fingers that were set."""


def grouping_of(score: Score, document: str) -> tuple[Grouping, Way, str]:
    """Return the groups of a score, the way of runs nobody touched, and what was wrong, if any."""
    if not document:
        return propose_grouping(score), Way.LEADING, ""
    try:
        values = json.loads(document)
        return grouping_from_document(score, values), way_of_document(values), ""
    except ValueError:
        sentence = "The stored grouping is damaged and cannot be read."
    except EditRefused as error:
        sentence = str(error)
    return propose_grouping(score), Way.LEADING, sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundGroups:
    """The groups of a score and the fingers that are printed in it.

    Parameters
    ----------
    way
        How runs are grouped that nobody touched.
    trouble
        What was wrong with the stored grouping, "" for nothing.
    printed
        Printed fingers by note id.
    """

    grouping: Grouping
    way: Way = Way.LEADING
    trouble: str = ""
    printed: Mapping[str, int] = field(default_factory=dict)


def groups_and_printed_fingers(score: Score, document: str) -> FoundGroups:
    """Return the groups of a score and its printed fingers, for a worker process."""
    grouping, way, trouble = grouping_of(score, document)
    return FoundGroups(grouping=grouping, way=way, trouble=trouble, printed=printed_fingers(score))


def grouping_text(grouping: Grouping, way: Way) -> str:
    """Write what was set in a grouping, "" when nothing was."""
    document = grouping_to_document(grouping, way)
    if not document["runs"] and way is Way.LEADING:
        return ""
    return json.dumps(document, ensure_ascii=False)


def fingers_of(document: str) -> tuple[ChosenFingers, str]:
    """Return the fingers that were set, and what was wrong with the document, if anything."""
    if not document:
        return ChosenFingers(), ""
    try:
        return chosen_from_document(json.loads(document)), ""
    except ValueError:
        return ChosenFingers(), "The stored fingers are damaged and cannot be read."
    except EditRefused as error:
        return ChosenFingers(), str(error)


def fingers_text(chosen: ChosenFingers) -> str:
    """Write the fingers that were set, "" when nothing was."""
    if chosen == ChosenFingers():
        return ""
    return json.dumps(chosen_to_document(chosen), ensure_ascii=False)
