from __future__ import annotations

import copy
import os
import pickle
import select
import signal
import subprocess
import sys
import textwrap
import threading
import time
from dataclasses import FrozenInstanceError
from fractions import Fraction
from pathlib import Path

import pytest

from companion.errors import Cancelled, CompanionError, ScoreUnreadable
from companion.history.model import RawEvent
from companion.processes.messages import (
    BROKE_DOWN,
    CANNOT_START,
    CANNOT_START_NOW,
    ENDED_FROM_OUTSIDE,
    Done,
    Failed,
    Part,
    Stopped,
)
from companion.processes.worker import WorkerProcess, _Child
from companion.progress import Progress, no_report
from companion.score.model import Position

LONG_SECONDS = 60  # a deadline that is never waited for


def add(left, right):
    return left + right


def count(total, report=no_report, emit=lambda value: None):
    for step in range(total):
        report(Progress(done=step, total=total, doing="Counting"))
        emit(step)
    return total


def refuse():
    raise ScoreUnreadable("“a” is damaged.")


def stumble():
    return 1 // 0


def give_a_lambda():
    return lambda: None


def eat_memory():
    return bytearray(64 << 30)


def end_suddenly():
    os.kill(os.getpid(), signal.SIGKILL)


def break_down():
    signal.signal(signal.SIGSEGV, signal.SIG_DFL)  # pytest's own handler would write a page
    os.kill(os.getpid(), signal.SIGSEGV)


def wait_and_report(report):
    until = time.monotonic() + LONG_SECONDS
    while time.monotonic() < until:
        report(Progress(done=0, total=0, doing="Waiting"))
        time.sleep(0.005)


def wait_deaf(emit):
    emit(os.getpid())
    time.sleep(LONG_SECONDS)


def own_id():
    return os.getpid()


def loaded_modules():
    return sorted(sys.modules)


def main_file():
    return getattr(sys.modules["__main__"], "__file__", None)


def niceness():
    return os.nice(0)


def large(count):
    return b"x" * count


@pytest.fixture(scope="module")
def worker():
    with WorkerProcess("test worker") as process:
        yield process


def messages_until_over(job):
    messages = []
    while not messages or not isinstance(messages[-1], Done | Failed | Stopped):
        messages.extend(job.wait(LONG_SECONDS))
    return messages


def test_a_function_returns_its_value(worker):
    assert worker.submit(add, 2, 3).result() == 5


def test_jobs_run_in_the_order_they_were_given(worker):
    jobs = [worker.submit(add, number, 0) for number in range(20)]
    assert [job.result() for job in jobs] == list(range(20))


def test_parts_arrive_in_order_before_the_result(worker):
    messages = messages_until_over(worker.submit(count, 50))
    assert [message.value for message in messages if isinstance(message, Part)] == list(range(50))
    assert messages[-1] == Done(50)
    assert isinstance(messages[0], Progress)


def test_progress_is_not_sent_at_every_step(worker):
    messages = messages_until_over(worker.submit(count, 5_000))
    assert 1 <= sum(isinstance(message, Progress) for message in messages) < 1_000


def test_an_error_for_the_person_arrives_as_its_sentence(worker):
    assert messages_until_over(worker.submit(refuse)) == [Failed("“a” is damaged.")]
    with pytest.raises(CompanionError, match="is damaged"):
        worker.submit(refuse).result()


def test_a_bug_arrives_with_its_traceback(worker):
    (failed,) = messages_until_over(worker.submit(stumble))
    assert failed.is_bug
    assert "ZeroDivisionError" in failed.traceback
    assert "Traceback" not in failed.sentence


@pytest.mark.parametrize("function", [give_a_lambda, lambda: None], ids=["result", "function"])
def test_what_cannot_travel_is_told_as_a_bug_and_the_next_job_works(worker, function):
    (failed,) = messages_until_over(worker.submit(function))
    assert failed.is_bug
    assert worker.submit(add, 1, 1).result() == 2


def test_a_job_out_of_memory_fails_plainly_and_the_next_one_works(worker):
    (failed,) = messages_until_over(worker.submit(eat_memory))
    assert not failed.is_bug
    assert "memory" in failed.sentence
    assert worker.submit(add, 1, 1).result() == 2


def test_a_killed_child_fails_plainly_and_the_next_job_works(worker):
    assert messages_until_over(worker.submit(end_suddenly)) == [Failed(ENDED_FROM_OUTSIDE)]
    assert worker.submit(add, 1, 1).result() == 2


def test_a_child_that_breaks_down_is_not_said_to_lack_memory(worker):
    assert messages_until_over(worker.submit(break_down)) == [Failed(BROKE_DOWN)]
    assert worker.submit(add, 1, 1).result() == 2


def test_a_child_that_cannot_start_is_told_so_at_every_job(tmp_path, monkeypatch):
    (tmp_path / "module_that_ends_it.py").write_text("import os\nos._exit(127)\n")
    monkeypatch.syspath_prepend(tmp_path)
    with WorkerProcess("never started", preload=("module_that_ends_it",)) as process:
        for _ in range(2):
            assert messages_until_over(process.submit(add, 1, 1)) == [Failed(CANNOT_START)]


def test_a_system_without_room_for_a_process_is_asked_again_with_the_next_job(monkeypatch):
    full = threading.Event()
    full.set()
    start = _Child._start

    def perhaps_start(child):
        if full.is_set():
            raise BlockingIOError(11, "Resource temporarily unavailable")
        start(child)

    monkeypatch.setattr(_Child, "_start", perhaps_start)
    with WorkerProcess("crowded") as process:
        assert messages_until_over(process.submit(add, 1, 1)) == [Failed(CANNOT_START_NOW)]
        full.clear()
        assert process.submit(add, 1, 1).result() == 2


def test_a_child_killed_while_idle_is_replaced(worker):
    first = worker.submit(own_id).result()
    os.kill(first, signal.SIGKILL)
    while True:  # the death may be noticed only when the job is already sent
        try:
            second = worker.submit(own_id).result()
            break
        except CompanionError:
            continue
    assert second != first


def test_a_cancelled_job_stops_at_its_next_report_and_the_child_lives_on(worker):
    before = worker.submit(own_id).result()
    job = worker.submit(wait_and_report)
    job.wait(LONG_SECONDS)
    job.cancel()
    assert messages_until_over(job)[-1] == Stopped()
    assert worker.submit(own_id).result() == before


def test_a_job_that_never_reports_is_killed_after_a_grace_and_the_child_replaced(worker):
    job = worker.submit(wait_deaf)
    (part,) = job.wait(LONG_SECONDS)
    started = time.monotonic()
    job.cancel()
    assert messages_until_over(job) == [Stopped()]
    assert time.monotonic() - started < LONG_SECONDS / 2
    assert worker.submit(own_id).result() != part.value


def test_a_job_cancelled_before_its_turn_never_runs(worker):
    first = worker.submit(wait_and_report)
    second = worker.submit(own_id)
    second.cancel()
    first.cancel()
    assert messages_until_over(first)[-1] == Stopped()
    assert messages_until_over(second) == [Stopped()]


def test_cancelling_a_finished_job_changes_nothing(worker):
    job = worker.submit(add, 1, 2)
    assert messages_until_over(job) == [Done(3)]
    job.cancel()
    assert job.poll() == []


def test_waiting_for_the_result_of_a_cancelled_job_raises(worker):
    job = worker.submit(wait_and_report)
    job.cancel()
    with pytest.raises(Cancelled):
        job.result()


def test_polling_never_waits_for_a_large_value(worker):
    job = worker.submit(large, 32 << 20)
    assert job.poll() == []
    assert select.select([worker.fileno()], [], [], LONG_SECONDS)[0]
    started = time.perf_counter()
    messages = job.poll()
    longest = time.perf_counter() - started
    assert len(messages[-1].value) == 32 << 20
    assert longest < 0.5  # generous: the point is that it is no transfer of 32 MB


def test_the_file_descriptor_is_readable_only_while_messages_wait(worker):
    job = worker.submit(add, 1, 2)
    assert select.select([worker.fileno()], [], [], LONG_SECONDS)[0]
    assert job.poll() == [Done(3)]
    assert not select.select([worker.fileno()], [], [], 0)[0]


def test_the_child_loads_neither_qt_nor_the_main_module_of_the_parent(worker):
    modules = worker.submit(loaded_modules).result()
    assert not [name for name in modules if name.startswith("PySide6")]
    assert worker.submit(main_file).result() is None


def test_the_child_gives_way_to_the_window(worker):
    assert worker.submit(niceness).result() >= min(19, os.nice(0) + 5)


def test_an_interrupt_from_the_keyboard_does_not_end_the_child(worker):
    child = worker.submit(own_id).result()
    os.kill(child, signal.SIGINT)
    assert worker.submit(own_id).result() == child


def test_closing_ends_the_child_stops_waiting_jobs_and_leaves_no_thread():
    process = WorkerProcess("short")
    job = process.submit(wait_deaf)
    (part,) = job.wait(LONG_SECONDS)
    waiting = process.submit(own_id)
    process.close()
    process.close()
    assert job.poll() == [Stopped()]
    assert waiting.poll() == [Stopped()]
    assert not is_alive(part.value)
    assert not [thread for thread in threading.enumerate() if thread.name == "short keeper"]
    with pytest.raises(RuntimeError):
        process.submit(own_id)


def test_modules_asked_for_are_loaded_before_the_first_job():
    with WorkerProcess("preloaded", preload=("wave", "no_such_module")) as process:
        assert "wave" in process.submit(loaded_modules).result()


def test_the_child_ends_when_the_parent_is_killed():
    parent = subprocess.Popen(
        [
            sys.executable,
            "-c",
            textwrap.dedent(
                """
                import os, time
                from companion.processes.worker import WorkerProcess
                worker = WorkerProcess("orphan")
                print(worker.submit(os.getpid).result(), flush=True)
                time.sleep(600)
                """
            ),
        ],
        stdout=subprocess.PIPE,
        cwd=Path(__file__).parents[2],
        text=True,
    )
    child = int(parent.stdout.readline())
    assert is_alive(child)
    parent.kill()
    parent.wait()
    parent.stdout.close()
    deadline = time.monotonic() + LONG_SECONDS
    while is_alive(child) and time.monotonic() < deadline:
        time.sleep(0.01)
    assert not is_alive(child)


def is_alive(process_id):
    try:
        status = Path(f"/proc/{process_id}/stat").read_text()
    except OSError:
        return False
    return status.rpartition(")")[2].split()[0] != "Z"


def test_whoever_waits_hears_of_it_when_the_keeper_itself_fails(monkeypatch):
    def cannot_start(_child):
        raise RuntimeError("no more processes")

    monkeypatch.setattr("companion.processes.worker._Child.ensure_alive", cannot_start)
    with WorkerProcess("keeper that fails") as worker:
        for _ in range(2):  # and the thread is still there for the next
            last = _last_message(worker.submit(len, ()))
            assert isinstance(last, Failed)
            assert last.is_bug
            assert "no more processes" in last.traceback


def _last_message(job):
    messages = []
    while not job.finished or not messages:
        messages += job.wait(20)
    return messages[-1]


def test_notes_come_out_of_a_pickle_as_they_went_in():
    position = Position(3, Fraction(1, 2))
    event = RawEvent(1.5, b"\x90\x3c\x40")
    for value in (position, event):
        for copied in (pickle.loads(pickle.dumps(value)), copy.copy(value), copy.deepcopy(value)):
            assert copied == value
            assert hash(copied) == hash(value)
    with pytest.raises(FrozenInstanceError):
        pickle.loads(pickle.dumps(position)).measure_index = 4
