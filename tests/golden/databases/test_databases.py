"""History files that released versions wrote must open, with everything in them."""

from __future__ import annotations

import shutil
from datetime import date

import pytest

from companion.history.knowing.clean import Thresholds
from companion.history.summaries import heat_strip
from companion.score.model import Hand
from companion.storage.history_file import HistoryFile
from companion.storage.migrations import MIGRATIONS
from companion.storage.pieces import ScoreFile
from tests.golden.databases.build import (
    BY_HEART,
    FINISHED,
    FOLDER,
    GROUPING,
    RECITED,
    SCORE,
)
from tests.unit.storage.history_examples import (
    MOMENT,
    a_match,
    a_section_map,
    an_attempt,
    some_events,
    some_results,
)

FILES = sorted(FOLDER.glob("history-format-*.sqlite3"))


@pytest.fixture(params=FILES, ids=lambda path: path.stem)
def history(request, tmp_path):
    copy = tmp_path / "history.sqlite3"
    shutil.copy(request.param, copy)
    with HistoryFile(copy) as opened:
        yield opened


def test_there_is_a_file_of_every_format():
    names = {f"history-format-{number}" for number in range(1, len(MIGRATIONS) + 1)}
    assert {path.stem for path in FILES} == names


def test_the_shelf_of_an_old_history_is_all_there(history):
    (piece,) = history.shelf()
    assert (piece.title, piece.part) == ("Rain on the mill", "P2")
    assert (piece.performance_date, piece.opened_at) == (date(2026, 6, 20), MOMENT)
    assert history.score_file(piece.score_hash) == ScoreFile("mill.mxl", SCORE)
    assert history.hands("piece") == {"n3": Hand.LEFT}
    assert history.view("piece") == "page 2"


def test_the_section_maps_of_an_old_history_are_all_there(history):
    assert history.section_map("piece") == a_section_map(4)
    assert history.section_map("piece", version=1) == a_section_map(3)


def test_decisions_about_a_piece_and_entries_are_there_from_format_2_on(history, request):
    old = "format-1" in request.node.callspec.id
    assert history.document("piece", "grouping") == ("" if old else GROUPING)
    assert history.entries_of("piece", "recited") == (() if old else (RECITED,))


def test_the_takes_of_an_old_history_are_all_there_with_every_event(history):
    assert history.take("take") == FINISHED
    assert history.takes_of("piece")[-1].take_id == "take"
    assert [take.take_id for take in history.takes_of("piece", in_bin=True)] == ["thrown away"]


def test_takes_are_from_memory_from_format_5_on_and_older_ones_with_the_score(history, request):
    old = any(f"format-{number}" in request.node.callspec.id for number in (1, 2, 3, 4))
    assert {take.take_id for take in history.takes_of("piece") if take.from_memory} == (
        set() if old else {"by heart"}
    )
    if not old:
        assert history.take("by heart") == BY_HEART


def test_a_take_that_an_old_program_left_open_is_recovered(history):
    (recovered,) = history.recover_open_takes()
    assert recovered.take_id == "cut off"
    assert recovered.events == some_events(3)[:5]
    assert recovered.note_count == 3


def test_results_of_an_old_history_are_there_or_are_worked_out_anew(history):
    results = some_results()
    missing = history.missing_stretches("piece", "basis", results.stretches)
    if "take" in missing:
        return  # a later format may drop what is derived
    assert history.section_results("piece", "basis", results.stretches) == results.sections
    assert heat_strip(history.measure_counts("piece", "basis")) == results.measures
    assert history.match_of("take", "basis") == a_match()
    (played,) = history.played_stretches("piece", "basis", results.stretches, 4).values()
    assert [cold.attempt for cold in played.judged(None, Thresholds())] == [an_attempt()]


def test_old_results_without_attempts_are_measured_again_but_not_matched_again(history, request):
    if request.node.callspec.id not in ("history-format-1", "history-format-2"):
        return
    results = some_results()
    assert "take" in history.missing_stretches("piece", "basis", results.stretches)
    assert history.match_of("take", "basis") == a_match()
    assert history.section_results("piece", "basis", results.stretches) == results.sections
