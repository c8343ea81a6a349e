"""Tasks inside sections: on the map, in the list, measured, decided upon."""

from __future__ import annotations

import shutil

import pytest
from PySide6.QtCore import QPoint, Qt

from companion.analysis.tasks.model import TaskKind
from companion.desktop.tasks.table import Column
from companion.practice.tasks import TASKS, kept_tasks
from companion.resources import sample_scores_folder

LONG_MS = 120_000


@pytest.fixture
def own_score(tmp_path):
    """A copy of a sample with leaps and chords: it has no takes."""
    path = tmp_path / "my_waltz.musicxml"
    shutil.copy(sample_scores_folder() / "waltz_at_the_ferry.musicxml", path)
    return path


@pytest.fixture
def wiring(companion, qtbot):
    wiring = companion.further.tasks
    qtbot.waitUntil(lambda: wiring.found and bool(wiring.tasks.tasks), timeout=LONG_MS)
    return wiring


@pytest.fixture
def page(companion, wiring, qtbot):
    companion.window.actions_by_id["page_tasks"].trigger()
    page = companion.window.pages.tasks
    qtbot.waitUntil(lambda: bool(page.titles), timeout=LONG_MS)
    return page


def trigger(companion, name):
    companion.window.actions_by_id[name].trigger()


def stored(companion):
    return companion.history.document(companion.stand.piece.piece_id, TASKS)


def inside(wiring, section):
    return [task for task in wiring.tasks.tasks if section.contains(task.start)]


def middle_of(view, task):
    layout = view.geometry_now
    for number, row in enumerate(view._tasks.rows):
        if any(each.task_id == task.task_id for each in row):
            x = (layout.x_at(task.start) + layout.x_at(task.end)) / 2
            return QPoint(round(x), round(layout.tasks_top + 15 * number + 7))
    raise AssertionError(task)


def test_tasks_are_drawn_under_their_sections_and_told_in_words(companion, wiring):
    view, task = companion.window.map_view, wiring.tasks.tasks[0]
    assert view.geometry_now.task_rows >= 1
    words = view.words_at(middle_of(view, task))
    assert words.startswith("Task: ")
    assert task.reason[1:] in words
    assert "A proposal" in words


def test_a_clicked_task_is_chosen_and_shown_in_the_score(companion, wiring, page, qtbot):
    view, task = companion.window.map_view, wiring.tasks.tasks[-1]
    with qtbot.waitSignal(view.place_chosen) as shown:
        qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=middle_of(view, task))
    assert shown.args == [task.start]
    assert view.chosen_task_id == page.chosen_id == task.task_id
    assert view.selected.contains(task.start)


def test_the_arrow_keys_go_into_the_tasks_of_a_section_and_out_again(companion, wiring, qtbot):
    view = companion.window.map_view
    section = next(s for s in companion.stand.section_map.leaves if len(inside(wiring, s)) > 1)
    view.choose(section.section_id)
    first, second = inside(wiring, section)[:2]
    qtbot.keyClick(view, Qt.Key.Key_Down)
    assert view.chosen_task_id == first.task_id
    assert view.accessibleDescription().startswith("Task: ")
    qtbot.keyClick(view, Qt.Key.Key_Right)
    assert view.chosen_task_id == second.task_id
    qtbot.keyClick(view, Qt.Key.Key_Return)
    assert companion.window.page == "page_tasks"
    assert companion.window.pages.tasks.chosen_id == second.task_id
    qtbot.keyClick(view, Qt.Key.Key_Up)
    assert view.chosen_task_id is None
    assert view.selected == section


def test_a_task_is_kept_and_that_is_undone_and_redone(companion, wiring, page):
    task_id = wiring.tasks.tasks[0].task_id
    page.choose_task(task_id)
    page._keep.click()
    assert wiring.tasks.task(task_id).kept
    assert [task.task_id for task in kept_tasks(stored(companion))[0].tasks] == [task_id]
    trigger(companion, "undo")
    assert not wiring.tasks.task(task_id).kept
    assert stored(companion) == ""
    trigger(companion, "redo")
    assert wiring.tasks.task(task_id).kept


def test_what_was_turned_down_goes_and_can_be_brought_back(companion, wiring, page):
    before = wiring.tasks.tasks
    page.choose_task(before[0].task_id)
    page._dismiss.click()
    assert wiring.tasks.tasks == before[1:]
    assert not page._back.isHidden()
    page._back.click()
    assert wiring.tasks.tasks == before
    assert page._back.isHidden()


def test_name_measures_and_words_on_practising_are_the_pianists(companion, wiring, page):
    task = wiring.tasks.tasks[0]
    page.choose_task(task.task_id)
    page.sheet.renamed.emit(task.task_id, "The far bass")
    page.sheet.moved.emit(task.task_id, 1, 3)
    page.sheet.written.emit(task.task_id, "Left hand alone.")
    changed = wiring.tasks.task(task.task_id)
    assert (changed.name, changed.how_to_practise) == ("The far bass", "Left hand alone.")
    assert (changed.start.measure_index, changed.end.measure_index) == (1, 4)
    assert "The far bass" in page.titles
    page.sheet.moved.emit(task.task_id, 3, 1)  # makes no sense, and is refused
    assert wiring.tasks.task(task.task_id) == changed
    assert companion.window.messages.isVisible()


def test_the_selected_measures_of_one_hand_become_a_task(companion, wiring, page, qtbot):
    qtbot.waitUntil(lambda: companion.score_view.is_complete, timeout=LONG_MS)
    trigger(companion, "add_task")
    assert companion.window.page == "page_score"  # nothing is selected yet
    companion.score_view._selection.choose_measure(4, 2)
    companion.score_view._selection.extend_to(5, 2)
    trigger(companion, "add_task")
    (own,) = (task for task in wiring.tasks.tasks if task.kind is TaskKind.OWN)
    assert (own.start.measure_index, own.end.measure_index) == (4, 6)
    assert own.hand is not None
    assert companion.window.page == "page_tasks"
    assert page.chosen_id == own.task_id


def test_the_list_begins_with_the_hardest_section(companion, wiring, page, qtbot):
    work = companion.further.work
    qtbot.waitUntil(lambda: bool(work.order), timeout=LONG_MS)
    rank = {name: place for place, name in enumerate(work.order)}
    section_map = companion.stand.section_map
    ranks = [
        rank[section_map.section_at(page._model.line(row).start).section_id]
        for row in range(len(page.titles))
    ]
    assert ranks == sorted(ranks)
    page._order.setCurrentIndex(1)
    page._order.activated.emit(1)
    starts = [page._model.line(row).start for row in range(len(page.titles))]
    assert starts == sorted(starts)


def test_without_a_piece_there_are_no_tasks(companion, wiring, page):
    companion.stand.clear()
    assert page.titles == ()
    assert page._empty.text() == "No piece is open."
    assert companion.window.map_view.geometry_now.task_rows == 0


def test_tasks_can_be_hidden_from_the_map(companion, wiring):
    view = companion.window.map_view
    companion.window.actions_by_id["show_tasks"].setChecked(False)
    assert view.geometry_now.task_rows == 0
    companion.window.actions_by_id["show_tasks"].setChecked(True)
    assert view.geometry_now.task_rows


def test_takes_of_earlier_days_are_measured_in_tasks_from_their_matches(
    companion, wiring, page, qtbot, tmp_path
):
    from companion.history.model import RawEvent
    from companion.history.results import Stretch
    from companion.midi.files import write_take

    score, history = companion.stand.score, companion.history
    piece_id, basis = companion.stand.piece.piece_id, companion.stand.open_piece.basis
    events = []
    for note in score.notes:  # every key as it is printed, a beat in half a second
        begin = float(note.onset_quarters) / 2
        end = begin + 0.9 * float(note.duration_quarters) / 2
        events.append((begin, 1, bytes([0x90, note.pitch, 70])))
        events.append((end, 0, bytes([0x80, note.pitch, 0])))
    path = tmp_path / "exact.mid"
    write_take(path, [RawEvent(at, message) for at, _, message in sorted(events)])
    companion.files.import_paths([str(path)])

    def measured(task):
        return history.section_results(piece_id, basis, [Stretch(task.start, task.end)])

    def matches():
        takes = history.takes_of(piece_id)
        return {take.take_id: history.match_of(take.take_id, basis) for take in takes}

    qtbot.waitUntil(lambda: all(measured(task) for task in wiring.tasks.tasks), timeout=LONG_MS)
    before = matches()
    first = wiring.tasks.tasks[0]
    assert {row.accuracy for row in measured(first)} == {1.0}
    row = page._model.row_of(first.task_id)
    count = str(len(measured(first)))
    qtbot.waitUntil(lambda: page.cell(row, Column.TAKES) == count, timeout=LONG_MS)
    assert page.cell(row, Column.ACCURACY).endswith("%")
    page.sheet.moved.emit(first.task_id, 0, 1)
    moved = wiring.tasks.task(first.task_id)
    qtbot.waitUntil(lambda: bool(measured(moved)), timeout=LONG_MS)
    take = history.takes_of(piece_id)[0]
    companion.takes.show_take(take.take_id)
    sections = companion.window.listener._take_sections
    qtbot.waitUntil(lambda: "Tasks: " in sections.text(), timeout=LONG_MS)
    assert f"{moved.name} 100 %" in sections.text()
    assert matches() == before
    assert {row.accuracy for row in measured(moved)} == {1.0}
