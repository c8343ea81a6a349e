"""The stand keeps what is done away from takes, with a history and without one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from companion.desktop.stand import Stand
from companion.history.model import Entry
from companion.practice.opening import OpenPiece
from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap
from companion.storage.history_file import HistoryFile
from tests.unit.listening.playing import invented_score
from tests.unit.storage.history_examples import a_piece

EMPTY = SectionMap(sections=())


@pytest.fixture(params=["kept", "in memory"])
def stand(request, tmp_path, qapp):
    history = HistoryFile(tmp_path / "history.sqlite3") if request.param == "kept" else None
    if history is not None:
        history.save_piece(a_piece("one"))
        history.save_piece(a_piece("two"))
    yield Stand(history)
    if history is not None:
        history.close()


def opened(piece_id):
    return OpenPiece(
        piece=a_piece(piece_id),
        score=invented_score(2),
        hands={},
        basis="basis",
        section_map=None,
        view="",
    )


def entry(entry_id, **more):
    made = Entry(
        entry_id=entry_id,
        piece_id="one",
        kind="drilled",
        happened_at=datetime(2026, 3, 1, 9, 0, tzinfo=UTC),
        zone="UTC",
        content="{}",
    )
    return replace(made, **more)


def test_what_was_done_is_told_of_the_piece_that_lies_there(stand):
    assert stand.entries("drilled") == ()
    stand.lay(opened("one"), EMPTY)
    stand.add_entry(entry("a"))
    stand.add_entry(entry("b", kind="recited"))
    stand.add_entry(entry("c", piece_id="two"))
    assert stand.entries("drilled") == (entry("a"),)
    stand.lay(opened("two"), EMPTY)
    assert stand.entries("drilled") == (entry("c", piece_id="two"),)


def test_a_piece_that_is_laid_again_has_not_forgotten_it(stand):
    stand.lay(opened("one"), EMPTY)
    stand.add_entry(entry("a"))
    stand.lay(opened("two"), EMPTY)
    stand.lay(opened("one"), EMPTY)
    assert stand.entries("drilled") == (entry("a"),)


def a_section(section_id, start, end, **more):
    return Section(
        section_id=section_id, name=section_id, start=Position(start), end=Position(end), **more
    )


PRINTED = SectionMap(sections=(a_section("all", 0, 2),))
OF_FORM = SectionMap(sections=(a_section("one", 0, 1), a_section("two", 1, 2)))


def test_better_sections_take_the_place_of_preliminary_ones(stand):
    stand.lay(opened("one"), PRINTED, preliminary=True)
    assert stand.map_is_preliminary
    stand.propose(OF_FORM)
    assert stand.section_map == OF_FORM
    assert not stand.map_is_preliminary
    if stand.history is not None:
        assert stand.history.section_map("one") == OF_FORM
    stand.undo()  # nobody did anything that could be undone
    assert stand.section_map == OF_FORM


def test_what_was_edited_meanwhile_outlives_better_sections(stand):
    stand.lay(opened("one"), PRINTED, preliminary=True)
    named = SectionMap(sections=(replace(PRINTED.sections[0], name="the mill"),))
    stand.change_map(named, "Name")
    stand.propose(OF_FORM)
    assert stand.section_map == named
    stand.undo()
    assert stand.section_map == PRINTED


def test_an_edit_that_was_taken_back_leaves_way_for_better_sections_which_can_be_undone(stand):
    stand.lay(opened("one"), PRINTED, preliminary=True)
    stand.change_map(OF_FORM, "Split")
    stand.undo()
    better = SectionMap(sections=(replace(PRINTED.sections[0], name="A"),))
    stand.propose(better)
    assert stand.section_map == better
    stand.undo()
    assert stand.section_map == PRINTED


def test_sections_of_a_piece_that_left_the_stand_are_not_taken(stand):
    stand.lay(opened("one"), PRINTED, preliminary=True)
    stand.lay(opened("two"), PRINTED)
    stand.propose(OF_FORM)
    assert stand.section_map == PRINTED


def test_when_no_better_sections_come_the_map_is_told_once_more(stand, qtbot):
    stand.lay(opened("one"), PRINTED, preliminary=True)
    with qtbot.waitSignal(stand.map_changed) as told:
        stand.settle_map()
    assert told.args == [PRINTED]
    assert not stand.map_is_preliminary
