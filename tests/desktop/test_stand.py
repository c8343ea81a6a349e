"""The stand keeps what is done away from takes, with a history and without one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from companion.desktop.stand import Stand
from companion.history.model import Entry
from companion.practice.opening import OpenPiece
from companion.score.sections.section_map import SectionMap
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
