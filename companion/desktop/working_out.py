"""Working out takes behind the window: a thread that asks, a process that computes.

The thread owns no state of the window: it is given the score, the map and the history, fills the
history with results, and says when there is something new to show. A newer request ends an older.
While somebody plays it begins nothing new: to send scores, to keep results and to show them takes
time that the notes need (the slowest mark of a hundred came 48 ms after the note instead of 15).
Nor while a score is being loaded: that needs the processors, and the takes of the piece before it
can wait.

The newest takes are worked out at once, at the lowest priority. With the older ones there is no
hurry: after each batch it rests for longer than the batch took, so that a first start, or a better
method after years of practice, does not make the fans of the computer louder than the piano.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from companion.errors import Cancelled, CompanionError
from companion.processes.worker import WorkerProcess
from companion.progress import Progress

if TYPE_CHECKING:
    from companion.practice.results import TakeToDo, WorkedOut
    from companion.score.model import Score
    from companion.score.sections.section_map import SectionMap
    from companion.storage.history_file import HistoryFile

_MODULES = ("companion.practice.results",)
PLAYING = "playing"
LOADING = "loading"
_NICENESS = 19  # the lowest priority there is (POSIX): nobody waits for these results
_BATCHES_AT_ONCE = 2
_RESTS_TIMES = 2.0
_LONGEST_REST_SECONDS = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """Everything of this piece that is missing shall be worked out."""

    piece_id: str
    score: Score = field(repr=False)
    section_map: SectionMap = field(repr=False)
    basis: str


class WorkingOut(QObject):
    """Brings the results of the piece on the stand up to date.

    Signals
    -------
    progressed(Progress)
        Takes were worked out; their results are in the history.
    finished(str)
        Piece id: everything is up to date.
    failed(str)
        A plain sentence.
    broke(str, str)
        A fault of the program: sentence and traceback.

    Parameters
    ----------
    rests_times
        How many times as long as a batch of older takes took, to rest after it.
    """

    progressed = Signal(object)
    finished = Signal(str)
    failed = Signal(str)
    broke = Signal(str, str)

    def __init__(
        self,
        history: HistoryFile,
        parent: QObject | None = None,
        *,
        rests_times: float = _RESTS_TIMES,
    ) -> None:
        super().__init__(parent)
        self._rests_times = rests_times
        self._batches = 0
        self._batch_began_seconds = 0.0
        self._history = history
        self._worker: WorkerProcess | None = None
        self._wanted: Request | None = None
        self._changed = threading.Condition()
        self._closing = False
        self._held: set[str] = set()
        self._thread = threading.Thread(target=self._run, name="working out", daemon=True)

    def start(self) -> None:
        """Begin to work; what was asked for before waits until now."""
        self._thread.start()

    def ask(self, request: Request) -> None:
        """Work out what this piece lacks; what is being worked out for another request stops."""
        with self._changed:
            self._wanted = request
            self._changed.notify()

    def hold(self, *, why: str = PLAYING) -> None:
        """Begin no further takes: somebody plays, or a score is being loaded."""
        with self._changed:
            self._held.add(why)

    def go_on(self, *, why: str = PLAYING) -> None:
        """Go on with what is missing, unless there is another reason to wait."""
        with self._changed:
            self._held.discard(why)
            self._changed.notify()

    def close(self) -> None:
        """End the thread and its process; what is worked out already is kept."""
        with self._changed:
            self._closing = True
            self._changed.notify()
        if self._worker is not None:
            self._worker.close()
        if self._thread.is_alive():
            self._thread.join(5.0)

    # all below runs in the thread

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._wanted is not None or self._closing)
                if self._closing:
                    return
                request, self._wanted = self._wanted, None
            if request is not None:
                self._work(request)

    def _work(self, request: Request) -> None:
        from companion.practice.results import bring_up_to_date

        self._batches = 0
        try:
            bring_up_to_date(
                self._history,
                request.piece_id,
                request.score,
                request.section_map,
                request.basis,
                work_out=self._work_out,
                report=self._report,
            )
        except Cancelled:
            return
        except CompanionError as error:
            if not self._closing:
                self.failed.emit(str(error))
        except Exception as error:  # noqa: BLE001 - the edge of the thread: a bug is told, not lost
            if not self._closing:
                import traceback

                self.broke.emit(str(error).splitlines()[-1][:200], traceback.format_exc())
        else:
            self.finished.emit(request.piece_id)

    def _report(self, progress: Progress) -> None:
        """Tell what is done and rest; neither while somebody plays."""
        worked_seconds = time.monotonic() - self._batch_began_seconds
        rest_seconds = 0.0
        if self._batches > _BATCHES_AT_ONCE and progress.done < progress.total:
            rest_seconds = min(self._rests_times * worked_seconds, _LONGEST_REST_SECONDS)
        self._wait_while_held()
        self.progressed.emit(progress)
        with self._changed:
            self._changed.wait_for(lambda: self._interrupted, rest_seconds)
        self._wait_while_held()
        self._batches += 1
        self._batch_began_seconds = time.monotonic()

    def _wait_while_held(self) -> None:
        with self._changed:
            self._changed.wait_for(lambda: not self._held or self._interrupted)
            if self._interrupted:
                raise Cancelled

    @property
    def _interrupted(self) -> bool:
        return self._closing or self._wanted is not None

    def _work_out(
        self,
        score: Score,
        section_map: SectionMap,
        to_do: Sequence[TakeToDo],
        basis: str,
    ) -> tuple[WorkedOut, ...]:
        from companion.practice.results import work_out_takes

        if self._worker is None:
            self._worker = WorkerProcess("takes", preload=_MODULES, niceness=_NICENESS)
        job = self._worker.submit(work_out_takes, score, section_map, tuple(to_do), basis)
        return job.result()  # type: ignore[return-value]
