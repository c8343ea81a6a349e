"""Where the work lies: on the map, corrected by takes, reordered by the teacher; the key plan."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint

from companion.desktop.section_map.layout import Lane
from companion.practice.workload import WORK_ORDER

LONG_MS = 120_000


@pytest.fixture
def work(companion, qtbot):
    work = companion.further.work
    qtbot.waitUntil(lambda: work.workload is not None, timeout=LONG_MS)
    qtbot.waitUntil(lambda: bool(companion.window.map_view._figures.work), timeout=LONG_MS)
    return work


def trigger(companion, name):
    companion.window.actions_by_id[name].trigger()


def shown(companion):
    return {each.section_id: each.rank for each in companion.window.map_view._figures.work}


def test_every_section_of_the_finest_division_has_its_place_in_the_order(companion, work):
    leaves = [section.section_id for section in companion.stand.section_map.leaves]
    assert sorted(work.order) == sorted(leaves)
    assert sorted(shown(companion)[section_id] for section_id in leaves) == list(
        range(1, len(leaves) + 1)
    )


def test_the_map_says_in_words_what_makes_a_section_hard(companion, work):
    view = companion.window.map_view
    section = companion.stand.section_map.leaves[0]
    x = view.geometry_now.x_at(section.start) + 6
    y = view.geometry_now.lane_top(Lane.WORK) + 5
    words = view.words_at(QPoint(round(x), round(y)))
    assert f"Work: {shown(companion)[section.section_id]} of {len(work.order)}" in words


def test_the_teacher_puts_a_section_forward_and_that_is_undone(companion, work):
    last = work.order[-1]
    piece_id = companion.stand.piece.piece_id
    companion.window.map_view.select(last)
    trigger(companion, "work_earlier")
    assert work.order[-2] == last
    assert shown(companion)[last] == len(work.order) - 1
    assert companion.history.document(piece_id, WORK_ORDER)
    trigger(companion, "undo")
    assert work.order[-1] == last
    trigger(companion, "redo")
    trigger(companion, "work_as_estimated")
    assert work.order[-1] == last
    assert companion.history.document(piece_id, WORK_ORDER) == ""


def test_the_first_section_cannot_be_put_further_forward(companion, work):
    companion.window.map_view.select(work.order[0])
    before = work.order
    trigger(companion, "work_earlier")
    assert work.order == before


def test_the_key_plan_comes_with_the_numerals_and_goes_with_them(companion, work, qtbot):
    view = companion.window.map_view
    assert Lane.KEYS not in view.geometry_now.lanes
    height = view.height()
    companion.window.actions_by_id["show_harmony"].setChecked(True)
    qtbot.waitUntil(lambda: bool(view._figures.keys), timeout=LONG_MS)
    assert Lane.KEYS in view.geometry_now.lanes
    first = companion.further.harmony.harmony.key_areas[0]
    y = view.geometry_now.lane_top(Lane.KEYS) + 5
    x = view.geometry_now.left + 3
    assert view.words_at(QPoint(round(x), round(y))) == f"Key: {first.key.spoken_name}"
    assert view._figures.keys[-1].end_measure == pytest.approx(len(companion.stand.score.measures))
    companion.window.actions_by_id["show_harmony"].setChecked(False)
    assert Lane.KEYS not in view.geometry_now.lanes
    assert view.sizeHint().height() <= height


def test_a_changed_map_is_ranked_anew(companion, work, qtbot):
    view = companion.window.map_view
    section = companion.stand.section_map.leaves[0]
    view.select(section.section_id)
    before = len(work.order)
    trigger(companion, "merge")
    qtbot.waitUntil(lambda: 0 < len(work.order) < before, timeout=LONG_MS)
