"""Workload and tasks of a piece as one piece of work, and the stored form of what was decided."""

from __future__ import annotations

import pickle

import pytest

from companion.analysis.tasks.model import TaskList, dismiss, keep
from companion.errors import Cancelled
from companion.practice.workload import (
    find_work,
    tasks_of,
    tasks_text,
    teacher_order_of,
    teacher_order_text,
    workload_key,
)
from companion.resources import sample_scores_folder
from companion.score.reading.reader import read_score
from companion.score.sections.edits import rename
from companion.score.sections.proposal import propose_sections


@pytest.fixture(scope="module")
def piece():
    score = read_score(sample_scores_folder() / "waltz_at_the_ferry.musicxml")
    return score, propose_sections(score)


@pytest.fixture(scope="module")
def found(piece):
    return find_work(*piece)


def test_workload_and_tasks_are_there(piece, found):
    assert len(found.workload.sections) == len(piece[1].sections)
    assert found.tasks.tasks


def test_they_can_be_sent_from_one_process_to_another(found):
    assert pickle.loads(pickle.dumps(found)) == found


def test_what_was_turned_down_stays_away(piece, found):
    first = found.tasks.tasks[0]
    again = find_work(*piece, dismiss(found.tasks, first.task_id))
    assert first not in again.tasks.tasks
    assert again.workload == found.workload


def test_progress_rises_to_the_end(piece):
    heard = []
    find_work(*piece, report=heard.append)
    done = [progress.done for progress in heard]
    assert done == sorted(done)
    assert done[-1] == 100


def test_it_can_be_stopped(piece):
    def stop(_):
        raise Cancelled

    with pytest.raises(Cancelled):
        find_work(*piece, report=stop)


def test_the_key_changes_with_the_map(piece):
    score, section_map = piece
    assert workload_key(score, section_map) == workload_key(score, section_map)
    renamed = rename(section_map, section_map.sections[0].section_id, "Another")
    assert workload_key(score, section_map) != workload_key(score, renamed)


def test_tasks_are_stored_only_when_something_was_decided(found):
    assert tasks_text(found.tasks) == ""
    assert tasks_of("") == (TaskList(), "")
    kept = keep(found.tasks, found.tasks.tasks[0].task_id)
    back, sentence = tasks_of(tasks_text(kept))
    assert back.tasks == (kept.tasks[0],)
    assert sentence == ""


@pytest.mark.parametrize("document", ["{", "{}", '{"format": 99}'])
def test_damaged_tasks_are_told_and_left_out(document):
    tasks, sentence = tasks_of(document)
    assert tasks == TaskList()
    assert sentence.endswith(".")


def test_the_teachers_order_is_stored_as_ids():
    assert teacher_order_of(teacher_order_text(("b", "a"))) == ("b", "a")
    assert teacher_order_of("") == teacher_order_of("{") == teacher_order_of("{}") == ()
    assert teacher_order_text(()) == ""
