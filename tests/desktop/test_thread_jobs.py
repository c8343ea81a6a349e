"""Work in a thread whose end becomes a signal."""

from __future__ import annotations

from threading import Event

import shiboken6
from PySide6.QtCore import QObject

from companion.desktop.thread_jobs import ThreadJob


class Listener(QObject):
    """Two receivers of the same signal; the first removes the job."""

    def __init__(self):
        super().__init__()
        self.job = None
        self.results = []

    def first(self, _result):
        self.job.discard()

    def second(self, result):
        self.results.append(result)


def test_every_receiver_is_told_the_result_although_the_first_removes_the_job(qtbot):
    listener = Listener()
    for number in range(60):
        listener.job = ThreadJob(lambda _report: {"anything"}, listener)
        listener.job.succeeded.connect(listener.first)
        listener.job.succeeded.connect(listener.second)
        listener.job.start()
        qtbot.waitUntil(lambda n=number: len(listener.results) > n, timeout=10_000)
    assert listener.results == [{"anything"}] * 60


def test_a_thread_that_ends_after_its_job_is_gone_tells_nobody(qtbot):
    may_end = Event()
    job = ThreadJob(lambda _report: may_end.wait(10))
    job.start()
    shiboken6.delete(job)
    may_end.set()
    job._thread.join(10)  # an exception here would be an error of the test: warnings are
    assert not job._thread.is_alive()
