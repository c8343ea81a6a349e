"""Sections proposed anew: shown before it is done, with the pianist's edits or without."""

from __future__ import annotations

import pytest

from companion.desktop.section_map.anew_dialog import AnewDialog
from companion.practice.proposals import TAKEN_PROPOSAL, proposal_to_text, text_to_proposal
from companion.score.model import Position
from companion.score.sections import edits
from companion.score.sections.section_map import SectionMap


@pytest.fixture
def renamed(companion):
    """The sample with a section that the pianist has named."""
    stand = companion.stand
    first = stand.section_map.leaves[0]
    stand.change_map(edits.rename(stand.section_map, first.section_id, "The setting out"), "Rename")
    return stand


def asked(companion):
    companion.window.actions_by_id["propose_map"].trigger()
    return companion.window.findChildren(AnewDialog)[-1]


def other_proposal(companion):
    """A proposal in which the last leaf has another border."""
    last = companion.map.proposal.leaves[-1]
    end, start = last.end.measure_index, last.start.measure_index
    return edits.split(companion.map.proposal, last.section_id, Position((start + end) // 2))


def test_what_nobody_changed_would_not_change(companion):
    dialog = asked(companion)
    assert dialog.lines == ("Nothing would change.",)
    assert not dialog._take.isEnabled()
    dialog.reject()


def test_a_name_stays_unless_everything_is_taken_anew(companion, renamed):
    before = renamed.section_map
    dialog = asked(companion)
    assert dialog.chosen == before
    dialog.take_all()
    assert any("The setting out" in line for line in dialog.lines)
    assert renamed.section_map == before  # only shown so far
    dialog.accept()
    assert renamed.section_map == companion.map.proposal
    companion.window.actions_by_id["undo"].trigger()
    assert renamed.section_map == before


def test_a_better_proposal_comes_in_beside_what_was_changed(companion, renamed):
    companion.map.proposal = other_proposal(companion)
    dialog = asked(companion)
    assert any(line.startswith("New: ") for line in dialog.lines)
    dialog.accept()
    names = [section.name for section in renamed.section_map.leaves]
    assert "The setting out" in names
    assert len(names) == len(companion.map.proposal.leaves)
    stored = renamed.document(TAKEN_PROPOSAL)
    assert text_to_proposal(stored) == companion.map.proposal
    # asked again, the proposal taken just now is what tells edits apart
    again = asked(companion)
    assert again.lines == ("Nothing would change.",)
    again.reject()


def test_a_damaged_proposal_is_one_that_is_not_known():
    assert text_to_proposal("{") == SectionMap(sections=())
    assert text_to_proposal(proposal_to_text(SectionMap(sections=()))) == SectionMap(sections=())
