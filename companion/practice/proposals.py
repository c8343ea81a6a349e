"""The proposal that the sections of a piece grew out of, as a document of the piece.

When sections are proposed anew, what stands as it was proposed takes the new proposal, and what the
pianist changed stays: to tell the two apart the proposal that was taken last has to be known.
"""

from __future__ import annotations

import json

from companion.errors import EditRefused
from companion.score.sections.document import section_map_from_document, section_map_to_document
from companion.score.sections.section_map import SectionMap

TAKEN_PROPOSAL = "proposed sections"
"""Kind of the document; before the first of it, version 1 of the map is the proposal."""


def proposal_to_text(proposal: SectionMap) -> str:
    """Write a proposal; inverse :func:`text_to_proposal`."""
    return json.dumps(section_map_to_document(proposal), ensure_ascii=False)


def text_to_proposal(text: str) -> SectionMap:
    """Inverse of :func:`proposal_to_text`; a damaged text is an empty map: not known any more."""
    try:
        return section_map_from_document(json.loads(text))
    except (ValueError, EditRefused):
        return SectionMap(sections=())
