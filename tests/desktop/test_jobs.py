from __future__ import annotations

import pytest

from companion.desktop.jobs import Jobs
from tests.desktop import job_functions

WAIT_MS = 60_000  # a worker process has to start; never waited for where all is well


@pytest.fixture(scope="module")
def jobs(qapp):
    jobs = Jobs("tests")
    yield jobs
    jobs.close()


def test_result_progress_and_parts_arrive_as_signals(jobs, qtbot):
    told, parts = [], []
    job = jobs.run(job_functions.double, 21)
    job.progressed.connect(told.append)
    job.part_arrived.connect(parts.append)
    with qtbot.waitSignal(job.succeeded, timeout=WAIT_MS) as succeeded:
        pass
    assert succeeded.args == [42]
    assert [progress.doing for progress in told] == ["Doubling"]
    assert parts == ["half way"]
    assert job.over


def test_sentence_of_a_refusal_is_told(jobs, qtbot):
    job = jobs.run(job_functions.refuse)
    with qtbot.waitSignal(job.failed, timeout=WAIT_MS) as failed:
        pass
    assert failed.args == ["This file holds no notes."]


def test_fault_of_the_program_is_told_with_its_traceback(jobs, qtbot):
    job = jobs.run(job_functions.stumble)
    with (
        qtbot.waitSignal(jobs.broke, timeout=WAIT_MS) as broke,
        qtbot.waitSignal(job.broken, timeout=WAIT_MS),
        qtbot.assertNotEmitted(job.failed),
    ):
        pass
    assert "ZeroDivisionError: a bug" in broke.args[1]


def test_cancelled_work_ends_with_its_signal_and_the_next_work_runs(jobs, qtbot):
    job = jobs.run(job_functions.work_until_cancelled)
    with qtbot.waitSignal(job.part_arrived, timeout=WAIT_MS):
        pass
    with qtbot.waitSignal(job.cancelled, timeout=WAIT_MS):
        job.cancel()
    following = jobs.run(job_functions.double, 4)
    with qtbot.waitSignal(following.succeeded, timeout=WAIT_MS) as succeeded:
        pass
    assert succeeded.args == [8]


def test_forgotten_work_says_nothing_more(jobs, qtbot):
    said = []
    job = jobs.run(job_functions.double, 1)
    for signal in (job.succeeded, job.failed, job.cancelled):
        signal.connect(said.append)
    job.forget()
    following = jobs.run(job_functions.double, 2)
    with qtbot.waitSignal(following.succeeded, timeout=WAIT_MS):
        pass
    assert said == []


def test_work_that_is_asked_for_after_the_end_is_never_done_and_nothing_breaks(qapp, qtbot):
    jobs = Jobs("closed")
    jobs.close()
    jobs.warm_up()
    job = jobs.run(job_functions.double, 21)
    with qtbot.assertNotEmitted(job.succeeded), qtbot.assertNotEmitted(job.cancelled):
        job.cancel()
    assert job.over
