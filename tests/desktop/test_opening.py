"""A new score is on the stand before its form is known; the form comes afterwards."""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.score.sections.proposal import propose_sections

LONG_MS = 120_000  # for worker processes on a busy machine; never waited for where all is well


@pytest.fixture
def places(places, tmp_path):
    """Places where no score was read before."""
    return replace(places, cache=tmp_path / "cache")


@pytest.fixture
def at_laying():
    """What is done at the moment at which the score lies there."""
    return []


@pytest.fixture
def opening(program, own_score, at_laying, qtbot):
    """The program, with a score on the stand and its form on the way."""
    companion = program(str(own_score))
    companion.shelf.opened.connect(lambda _: [act(companion) for act in at_laying])
    return companion


def all_there(companion, qtbot):
    qtbot.waitUntil(lambda: companion.stand.score is not None, timeout=LONG_MS)
    qtbot.waitUntil(lambda: not companion.opening.loading, timeout=LONG_MS)


def test_sections_of_the_form_take_the_place_of_the_printed_ones(opening, at_laying, qtbot):
    first = []
    at_laying.append(lambda c: first.append((c.stand.section_map, c.stand.map_is_preliminary)))
    all_there(opening, qtbot)
    stand = opening.stand
    assert first == [(propose_sections(stand.score), True)]
    assert stand.section_map != first[0][0]
    assert not stand.map_is_preliminary
    assert opening.map.proposal == stand.section_map
    assert stand.history.section_map(stand.piece.piece_id) == stand.section_map


def test_what_is_edited_before_the_form_comes_stays_and_can_be_undone(opening, at_laying, qtbot):
    def name(companion):
        stand = companion.stand
        sections = stand.section_map.sections
        named = replace(sections[0], name="The mill", purpose="sets out")
        stand.change_map(replace(stand.section_map, sections=(named, *sections[1:])), "Name")

    at_laying.append(name)
    all_there(opening, qtbot)
    stand = opening.stand
    assert stand.section_map.sections[0].name == "The mill"
    assert stand.section_map.sections[0].purpose == "sets out"
    while opening.window.actions_by_id["undo"].isEnabled():
        stand.undo()
    assert stand.section_map == propose_sections(stand.score)


def test_a_name_that_is_being_written_is_not_disturbed_by_the_form(opening, at_laying, qtbot):
    opening.shelf.map_in_use = lambda: True
    all_there(opening, qtbot)
    stand = opening.stand
    assert stand.section_map == propose_sections(stand.score)
    opening.shelf.map_in_use = lambda: False
    qtbot.waitUntil(lambda: not stand.map_is_preliminary, timeout=LONG_MS)
    assert stand.section_map != propose_sections(stand.score)


def test_a_search_for_the_form_that_was_stopped_is_made_up_for_at_the_next_start(
    opening, program, qtbot
):
    opening.opening.score_read.connect(lambda _: opening.opening.cancel())
    all_there(opening, qtbot)
    stand = opening.stand
    qtbot.waitUntil(lambda: not stand.map_is_preliminary, timeout=LONG_MS)
    assert stand.section_map == propose_sections(stand.score)
    opening.end()
    again = program(None)
    assert again.stand.map_is_preliminary
    qtbot.waitUntil(lambda: not again.stand.map_is_preliminary, timeout=LONG_MS)
    assert again.stand.section_map != propose_sections(again.stand.score)
