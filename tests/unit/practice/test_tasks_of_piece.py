"""Tasks of a piece and the stored form of what was decided about them."""

from __future__ import annotations

import pytest

from companion.analysis.tasks.model import TaskList, dismiss, keep
from companion.analysis.tasks.proposal import propose_tasks
from companion.errors import Cancelled
from companion.practice.tasks import kept_tasks, tasks_of, tasks_text
from companion.resources import sample_scores_folder
from companion.score.reading.reader import read_score
from companion.score.sections.proposal import propose_sections


@pytest.fixture(scope="module")
def piece():
    score = read_score(sample_scores_folder() / "waltz_at_the_ferry.musicxml")
    return score, propose_sections(score)


@pytest.fixture(scope="module")
def proposed(piece):
    return propose_tasks(*piece)


@pytest.fixture(scope="module")
def found(proposed):
    tasks, sentence = tasks_of("", proposed)
    assert sentence == ""
    return tasks


def test_proposals_alone_are_not_stored(found):
    assert found.tasks
    assert tasks_text(found) == ""
    assert kept_tasks("") == (TaskList(), "")


def test_a_kept_task_is_stored_and_comes_back(proposed, found):
    kept = keep(found, found.tasks[0].task_id)
    again, _ = tasks_of(tasks_text(kept), proposed)
    assert again == kept


def test_what_was_turned_down_stays_away(proposed, found):
    first = found.tasks[0]
    again, _ = tasks_of(tasks_text(dismiss(found, first.task_id)), proposed)
    assert first not in again.tasks


@pytest.mark.parametrize("document", ["{", "{}", '{"format": 99}'])
def test_damaged_tasks_are_told_and_left_out(proposed, document):
    tasks, sentence = tasks_of(document, proposed)
    assert not any(task.kept for task in tasks.tasks)
    assert sentence.endswith(".")


def test_looking_for_tasks_can_be_stopped(piece):
    def stop(_):
        raise Cancelled

    with pytest.raises(Cancelled):
        propose_tasks(*piece, stop)
