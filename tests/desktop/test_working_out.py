"""Working out takes behind the window gives way to whoever plays."""

from __future__ import annotations

import threading

import pytest

from companion.desktop import working_out
from companion.desktop.working_out import Request, WorkingOut
from companion.progress import Progress

PATIENCE_SECONDS = 20


@pytest.fixture
def steps(monkeypatch):
    """Stands for the work: three batches; tells when each has begun."""
    begun = [threading.Event() for _ in range(3)]

    def bring_up_to_date(*_arguments, report, **_named):
        for number, event in enumerate(begun):
            report(Progress(done=number, total=3, doing="Working out takes"))
            event.set()

    monkeypatch.setattr("companion.practice.results.bring_up_to_date", bring_up_to_date)
    return begun


@pytest.fixture
def work(qapp):
    work = WorkingOut(None)
    work.start()
    yield work
    work.close()


def a_request():
    return Request(piece_id="piece", score=None, section_map=None, basis="basis")


def test_nothing_is_begun_while_somebody_plays(qtbot, work, steps):
    work.hold()
    work.ask(a_request())
    with qtbot.waitSignal(work.finished, timeout=1000 * PATIENCE_SECONDS):
        assert not steps[0].is_set()
        work.go_on()
    assert all(step.is_set() for step in steps)


def test_a_held_work_still_ends_with_the_window(qtbot, work, steps):
    work.hold()
    work.ask(a_request())
    work.close()
    assert not steps[0].is_set()
    assert not work._thread.is_alive()


def test_what_was_asked_before_the_start_is_done(qtbot, steps):
    work = working_out.WorkingOut(None)
    work.ask(a_request())
    with qtbot.waitSignal(work.finished, timeout=1000 * PATIENCE_SECONDS):
        work.start()
    work.close()
