"""The program under the eyes of ``window.py``: runs in the process that is measured."""

from __future__ import annotations

import json
import os
import sys
import threading
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtWidgets import QApplication

if TYPE_CHECKING:
    from companion.app import Companion
    from companion.listening.notes import Place
    from companion.practice.opening import OpenPiece
    from tests.end_to_end.conftest import Piano

NOTES_PER_SECOND = 20
_LIMIT_SECONDS = 300
_LONG_SECONDS = 0.050
_LATE_MS = 12.0


@dataclass(frozen=True, slots=True)
class Gap:
    """One stretch in which the event loop did not come round, in seconds."""

    wall: float
    own: float
    others: float

    @property
    def ours(self) -> float:
        """What of it the program itself caused; the rest is the machine's other work."""
        return min(self.wall, self.own + self.others)


class LoopWatch(QObject):
    """Watches how long the event loop does not come round, a beat a millisecond."""

    def __init__(self, parent: QObject, *, stacks: bool) -> None:
        super().__init__(parent)
        self.gaps: list[Gap] = []
        self._stacks = stacks
        self._thread_id = threading.get_ident()
        self._last = self._now()
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._beat)

    def start(self) -> None:
        self.gaps, self._last = [], self._now()
        self._timer.start(1)
        if self._stacks:
            threading.Thread(target=self._tell_stacks, daemon=True).start()

    def summary(self) -> dict[str, float]:
        """The longest gaps by each kind of time, and how many were long."""
        walls = sorted((gap.wall for gap in self.gaps), reverse=True)
        return {
            "loop_blocked_longest_ms": 1000 * walls[0],
            "loop_blocked_over_50_ms_times": float(sum(wall > _LONG_SECONDS for wall in walls)),
            "loop_blocked_by_the_program_longest_ms": 1000 * max(gap.ours for gap in self.gaps),
            "loop_blocked_by_the_program_over_50_ms_times": float(
                sum(gap.ours > _LONG_SECONDS for gap in self.gaps)
            ),
            "of_it_thread_of_the_window_longest_ms": 1000 * max(gap.own for gap in self.gaps),
            "of_it_other_threads_longest_ms": 1000 * max(gap.others for gap in self.gaps),
        }

    @staticmethod
    def _now() -> tuple[float, float, float]:
        return time.perf_counter(), time.thread_time(), time.process_time()

    def _beat(self) -> None:
        now = self._now()
        wall, own, process = (after - before for after, before in zip(now, self._last, strict=True))
        self._last = now
        self.gaps.append(Gap(wall, own, max(0.0, process - own)))

    def _tell_stacks(self) -> None:
        """Print where the threads are whenever the beat is late (a look every 5 ms)."""
        while True:
            time.sleep(0.005)
            late_ms = 1000 * (time.perf_counter() - self._last[0])
            if late_ms < _LATE_MS:
                continue
            print(f"-- {late_ms:.0f} ms late", file=sys.stderr)
            for thread_id, frame in sys._current_frames().items():
                if thread_id == threading.get_ident():
                    continue
                who = "window" if thread_id == self._thread_id else "other"
                places = [
                    f"{Path(entry.filename).name}:{entry.lineno} {entry.name}"
                    for entry in traceback.extract_stack(frame)[-7:]
                ]
                print(f"   {who}: {' < '.join(reversed(places))}", file=sys.stderr)


class PaintWatch(QObject):
    """Calls back when a paint event of the score has been carried out."""

    def __init__(self, parent: QObject, viewport: QObject) -> None:
        super().__init__(parent)
        self.painted: Callable[[], None] = lambda: None
        self._viewport = viewport
        viewport.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint:
            QTimer.singleShot(0, self, lambda: self.painted())
        return False


class PortRun:
    """Notes on their way from a process that plays to the paint event that shows them."""

    def __init__(
        self, companion: Companion, paint: PaintWatch, loop: LoopWatch, piano: Piano, count: int
    ) -> None:
        self._companion, self._loop, self._piano, self._count = companion, loop, piano, count
        self._heard: list[float] = []
        self._painted: list[tuple[int, float]] = []
        self._busy: list[float] = []
        self._sent_unpainted: list[int] = []
        self._marked: dict[int, int] = {}
        companion.piano.note_heard.connect(self._note_heard)
        self._worked_out_before = 0
        paint.painted = self._score_painted
        self._began_busy = (0.0, 0.0)

    def begin(self, take: Path) -> None:
        self._began_busy = (time.thread_time(), time.process_time())
        self._worked_out_before = self._takes_worked_out()
        self._piano.begin(f"play {take} 1")

    def _takes_worked_out(self) -> int:
        history, opened = self._companion.history, self._companion.stand.open_piece
        if history is None or opened is None:
            return 0
        return len(history.takes_of(opened.piece.piece_id)) - self._missing(opened)

    def _missing(self, opened: OpenPiece) -> int:
        from companion.history.results import stretches_of

        stretches = stretches_of(self._companion.stand.section_map)
        found = self._companion.history.missing_stretches(
            opened.piece.piece_id, opened.basis, stretches
        )
        return len(found)

    def _note_heard(self, place: Place | None, _note: object) -> None:
        number = len(self._heard)
        self._heard.append(time.perf_counter())
        # a note without a place, or one that was marked before, changes nothing in the score
        if place is None or place.score_index is None or place.verdict != "right":
            return
        if self._marked.setdefault(place.score_index, number) == number:
            self._sent_unpainted.append(number)

    def _score_painted(self) -> None:
        # marks of all notes heard before this paint event are in it
        now = time.perf_counter()
        self._painted += [(number, now) for number in self._sent_unpainted]
        self._sent_unpainted = []

    @property
    def complete(self) -> bool:
        return len(self._heard) >= self._count

    def answer(self) -> dict[str, float]:
        import numpy as np

        thread, process = time.thread_time(), time.process_time()
        sent = np.array(self._piano.sent())[::2]
        heard = np.array(self._heard[: len(sent)])
        to_heard = 1000 * (heard - sent[: len(heard)])
        to_paint = np.array([1000 * (at - sent[number]) for number, at in self._painted])
        figures = {
            "notes": float(len(self._heard)),
            "lost": float(self._count - len(self._heard)),
            "marked_and_painted": float(len(self._painted)),
            "busy_of_the_window_ms_per_note": 1000 * (thread - self._began_busy[0]) / self._count,
            "busy_of_other_threads_ms_per_note": 1000
            * (process - self._began_busy[1] - thread + self._began_busy[0])
            / self._count,
            "takes_worked_out_meanwhile": float(self._takes_worked_out() - self._worked_out_before),
        }
        for name, values in (("to_the_follower", to_heard), ("to_the_paint", to_paint)):
            for share in (50, 95, 99):
                figures[f"{name}_p{share}_ms"] = float(np.percentile(values, share))
            figures[f"{name}_longest_ms"] = float(values.max())
        # quiet stretches of a shared machine: the best third of all stretches of 40 notes
        stretches = [to_paint[i : i + 40] for i in range(0, len(to_paint) - 39, 40)]
        best = sorted(float(np.percentile(stretch, 99)) for stretch in stretches)
        figures["to_the_paint_p99_ms_best_third_of_stretches"] = best[max(0, len(best) // 3 - 1)]
        return figures | self._loop.summary()


class Watched:
    """One run of the real program with folders of its own."""

    def __init__(self, home: Path, notes_of_long_score: int, *, stacks: bool = False) -> None:
        from companion.app import Companion, Places, ask_for_style

        ask_for_style()
        self.application = QApplication(sys.argv[:1])
        places = Places(
            settings=home / "settings.toml", history=home / "history.db", cache=home / "cache"
        )
        self.home = home
        self.notes_of_long_score = notes_of_long_score
        self.companion = Companion(self.application, places)
        self.loop = LoopWatch(self.application, stacks=stacks)
        self.view = self.companion.score_view
        self.painted_first: tuple[float, float] | None = None
        self.paint = PaintWatch(self.application, self.view._canvas.viewport())
        QTimer.singleShot(_LIMIT_SECONDS * 1000, self.application.quit)

    def answer(self, **values: float) -> None:
        print(json.dumps(values), flush=True)
        self.companion.window.close()
        self.application.quit()

    def start(self, *, wait_for_all: bool) -> None:
        """Start as a person would; the first painting with a page on it counts."""
        if wait_for_all:
            self.companion.opening.ended.connect(lambda: QTimer.singleShot(1500, self.told))
        else:
            self.view.page_built.connect(lambda _page: self.expect_first_painting())
            self.companion.spare_time.over.connect(self.all_built)
        self.companion.start(None)
        self.application.exec()

    def told(self) -> None:
        self.answer(painted_at=time.perf_counter(), busy_seconds=time.process_time())

    def all_built(self) -> None:
        at = time.perf_counter()
        if self.painted_first is None:  # nothing was painted: no start that counts
            self.application.exit(1)
            return
        self.answer(
            painted_at=self.painted_first[0],
            busy_seconds=self.painted_first[1],
            built_at=at,
            longest_step_ms=1000 * max(gap.wall for gap in self.loop.gaps),
            longest_step_busy_ms=1000 * max(gap.own for gap in self.loop.gaps),
        )

    def expect_first_painting(self) -> None:
        self.paint.painted = self.first_painting

    def first_painting(self) -> None:
        if self.companion.stand.score is not None:
            self.paint.painted = lambda: None
            self.painted_first = (time.perf_counter(), time.process_time())
            self.loop.start()

    def open_long_score(self) -> None:
        """Open a long score in the running window, where it was never seen before."""
        path = self.long_score()
        self.companion.start(None)
        self.companion.opening.ended.connect(lambda: self.when_idle(lambda: self.open(path)))
        self.application.exec()

    def when_idle(self, then: Callable[[], None]) -> None:
        self.companion.opening.ended.disconnect()
        QTimer.singleShot(2000, then)

    def open(self, path: Path) -> None:
        began = time.perf_counter()
        seen: dict[str, float] = {}
        opening = self.companion.opening
        opening.page_engraved.connect(lambda _page: self.expect_page(seen, began))
        opening.score_read.connect(
            lambda _score: seen.setdefault("score_read_seconds", time.perf_counter() - began)
        )
        self.companion.stand.piece_laid.connect(
            lambda _piece: seen.setdefault("can_be_followed_seconds", time.perf_counter() - began)
        )
        opening.form_found.connect(
            lambda *_: seen.setdefault("form_found_seconds", time.perf_counter() - began)
        )
        opening.ended.connect(lambda: QTimer.singleShot(1000, lambda: self.finish(seen, began)))
        self.loop.start()
        self.companion.shelf.open_path(str(path))

    def expect_page(self, seen: dict[str, float], began: float) -> None:
        if "first_page_painted_seconds" in seen:
            return

        def painted() -> None:
            seen.setdefault("first_page_painted_seconds", time.perf_counter() - began)
            self.paint.painted = lambda: None

        self.paint.painted = painted

    def finish(self, seen: dict[str, float], began: float) -> None:
        seen["everything_there_seconds"] = time.perf_counter() - began - 1.0
        seen |= self.loop.summary()
        seen["notes"] = float(len(self.companion.stand.score.notes))
        self.answer(**seen)

    def hear_notes(self, count: int) -> None:
        """Play into a real port while the long score is open and all its work is done."""
        path = self.long_score()
        self.companion.start(str(path))
        opening = self.companion.opening
        opening.ended.connect(lambda: QTimer.singleShot(3000, lambda: self.play(count)))
        self.application.exec()

    def hear_notes_beside_demo_takes(self, count: int) -> None:
        """Play on the first sample of a first start, while its demo takes are being worked out."""
        self.companion.start(None)
        self.companion.opening.ended.connect(lambda: self.play(count))
        self.application.exec()

    def play(self, count: int) -> None:
        from companion.history.model import RawEvent
        from companion.midi.files import write_take
        from tests.end_to_end.conftest import Piano

        self.companion.opening.ended.disconnect()
        written = self.companion.stand.score.notes
        events = []
        for number in range(count):
            at, pitch = number / NOTES_PER_SECOND, written[number % len(written)].pitch
            events.append(RawEvent(at, bytes((0x90, pitch, 64))))
            events.append(RawEvent(at + 0.04, bytes((0x80, pitch, 0))))
        take = self.home / "played.mid"
        write_take(take, tuple(events))
        run = PortRun(self.companion, self.paint, self.loop, Piano("Benchmark piano"), count)

        def finished() -> None:
            if run.complete:
                check.stop()
                self.answer(**run.answer())

        check = QTimer(self.application)
        check.timeout.connect(finished)

        def begin() -> None:
            self.loop.start()
            run.begin(take)
            check.start(500)

        self.until_connected(begin)

    def until_connected(self, then: Callable[[], None]) -> None:
        if self.companion.piano.listener.state.connected:
            QTimer.singleShot(1000, then)
        else:
            QTimer.singleShot(50, lambda: self.until_connected(then))

    def long_score(self) -> Path:
        """A sample repeated to so many notes and never seen before."""
        from tests.benchmarks.engraving import long_score

        path = self.home / f"long-{os.getpid()}.musicxml"
        path.write_bytes(long_score(self.notes_of_long_score))
        return path
