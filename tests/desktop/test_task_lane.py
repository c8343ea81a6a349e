"""Tasks on the map and in the table, without a window: rows, walking, words."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtTest import QAbstractItemModelTester

from companion.analysis.tasks.model import Task, TaskKind
from companion.desktop.section_map.layout import TASK_PIXELS, MapLayout
from companion.desktop.section_map.task_lane import MOST_ROWS, MapTask, TaskLane
from companion.desktop.tasks.content import TaskLine
from companion.desktop.tasks.table import Column, TaskTableModel
from companion.desktop.tasks.wording import map_words, task_sentence, why_text
from companion.score.model import Hand, Position


def on_map(number, start, end):
    return MapTask(
        task_id=f"{number}",
        start=Position(start),
        end=Position(end),
        words=("run",),
        sentence=f"Task {number}.",
    )


def a_line(**more):
    values = {
        "task_id": "a",
        "name": "Leaps, left hand, mm. 9–12",
        "title": "Leaps",
        "kind": "Leaps",
        "start": Position(8),
        "end": Position(12),
        "measures": "9–12",
        "hand": "left hand",
        "section": "B",
        "rank": 1,
        "reason": "six leaps of an octave or more in the left hand",
        "how_to_practise": "",
        "kept": False,
    }
    return TaskLine(**(values | more))


@given(st.lists(st.tuples(st.integers(0, 20), st.integers(1, 6)), max_size=12))
def test_no_two_tasks_of_a_row_overlap_and_none_is_drawn_twice(spans):
    spans = sorted((start, start + length) for start, length in spans)
    lane = TaskLane().with_tasks([on_map(n, *span) for n, span in enumerate(spans)])
    rows = lane.rows
    assert len(rows) <= MOST_ROWS
    for row in rows:
        assert all(a.end <= b.start for a, b in pairwise(row))
    drawn = [task.task_id for row in rows for task in row]
    assert len(set(drawn)) == len(drawn)
    if all(sum(a <= at < b for a, b in spans) <= MOST_ROWS for at in range(27)):
        assert len(drawn) == len(spans)


def test_a_task_is_found_where_it_is_drawn(measures, section_map):
    lane = TaskLane().with_tasks([on_map(1, 0, 4), on_map(2, 2, 6)])
    layout = MapLayout(measures, section_map, 900.0, task_rows=len(lane.rows))
    x = layout.x_at(Position(3))
    assert lane.task_at(layout, x, layout.tasks_top + 2).task_id == "1"
    assert lane.task_at(layout, x, layout.tasks_top + TASK_PIXELS + 2).task_id == "2"
    assert lane.task_at(layout, layout.x_at(Position(8)), layout.tasks_top + 2) is None
    assert lane.task_at(layout, x, layout.band_top + 2) is None
    assert lane.task_at(layout, x, layout.lanes_top + 2) is None
    assert lane.is_name_at(layout, 30.0, layout.tasks_top + 2)


def test_one_walks_from_task_to_task_and_stays_at_the_ends():
    lane = TaskLane().with_tasks([on_map(1, 0, 4), on_map(2, 2, 6)]).choosing("1")
    assert lane.beside(-1) is None
    assert lane.beside(1).task_id == "2"
    assert lane.with_tasks([on_map(2, 2, 6)]).chosen is None


@pytest.mark.parametrize(
    ("hand", "kind", "title", "words"),
    [
        (Hand.LEFT, TaskKind.LEAPS, "Leaps", ("leaps, l. h.", "leaps")),
        (None, TaskKind.TWO_RHYTHMS, "Two rhythms", ("two rhythms",)),
        (None, TaskKind.RUN, "The storm", ("The storm", "run")),
        (Hand.RIGHT, TaskKind.OWN, "The trill", ("The trill, r. h.", "The trill")),
    ],
)
def test_the_map_says_in_a_word_what_a_task_asks_for(qapp, hand, kind, title, words):
    task = Task(task_id="a", name=title, kind=kind, start=Position(0), end=Position(2), hand=hand)
    assert map_words(task, title) == words


def test_a_task_in_words_tells_place_reason_and_that_it_is_a_proposal(qapp):
    assert task_sentence(a_line(), None) == (
        "Task: Leaps, measures 9–12, left hand. Six leaps of an octave or more in the left hand. "
        "Not played yet. A proposal."
    )
    kept = a_line(kept=True, title="The far bass", how_to_practise="Land silently.", known="lapsed")
    assert task_sentence(kept, None) == (
        "Task: The far bass (leaps), measures 9–12, left hand. Six leaps of an octave or more in "
        "the left hand. Land silently. Not played yet. Lapsed."
    )
    assert why_text(a_line()) == "Six leaps of an octave or more"


def test_the_table_keeps_the_rules_of_item_models(qapp):
    model = TaskTableModel()
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Fatal)
    model.show_lines((a_line(), a_line(task_id="b", title="Run", kept=True)), None)
    assert model.row_of("b") == 1
    assert model.data(model.index(1, Column.STATE)) == "kept"
    model.show_lines((), None)
    assert model.line(0) is None
    assert tester.model() is model
