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


def test_what_is_held_for_two_reasons_waits_for_both(qtbot, work, steps):
    work.hold()
    work.hold(why=working_out.LOADING)
    work.ask(a_request())
    with qtbot.waitSignal(work.finished, timeout=1000 * PATIENCE_SECONDS):
        work.go_on()
        assert not steps[0].is_set()
        work.go_on(why=working_out.LOADING)
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


class Clock:
    """A clock on which every batch takes a second; notes how long rests were asked for."""

    def __init__(self):
        self.seconds = 0.0
        self.rests = []

    def monotonic(self):
        return self.seconds


def test_older_takes_are_worked_out_with_rests_that_are_longer_than_the_work(qtbot, monkeypatch):
    clock, batches = Clock(), 7
    monkeypatch.setattr(working_out, "time", clock)

    def bring_up_to_date(*_arguments, report, **_named):
        for number in range(batches + 1):
            report(Progress(done=number, total=batches, doing="Working out takes"))
            clock.seconds += 1.0

    monkeypatch.setattr("companion.practice.results.bring_up_to_date", bring_up_to_date)
    work = WorkingOut(None)
    wait_for = work._changed.wait_for

    def note(condition, timeout=None):
        if timeout is not None:
            clock.rests.append(timeout)
            return condition()
        return wait_for(condition)

    monkeypatch.setattr(work._changed, "wait_for", note)
    work.ask(a_request())
    with qtbot.waitSignal(work.finished, timeout=1000 * PATIENCE_SECONDS):
        work.start()
    work.close()
    # before the first batch, after two at once, then rests; none after the last
    assert clock.rests == [0.0, 0.0, 0.0, 2.0, 2.0, 2.0, 2.0, 0.0]


def test_a_rest_ends_with_the_window(qtbot, monkeypatch, steps):
    monkeypatch.setattr(working_out, "_BATCHES_AT_ONCE", 0)
    monkeypatch.setattr(working_out, "_LONGEST_REST_SECONDS", 1e6)
    work = WorkingOut(None, rests_times=1e12)
    work.ask(a_request())
    work.start()
    assert steps[0].wait(PATIENCE_SECONDS)
    work.close()
    assert not work._thread.is_alive()
    assert not steps[2].is_set()


def test_working_out_gives_way_to_everything_else(monkeypatch):
    made = []

    class Worker:
        def __init__(self, *_arguments, niceness, **_named):
            made.append(niceness)

        def submit(self, *_arguments):
            return self

        def result(self):
            return ()

    monkeypatch.setattr(working_out, "WorkerProcess", Worker)
    WorkingOut(None)._work_out(None, None, (), "basis")
    assert made == [19]
