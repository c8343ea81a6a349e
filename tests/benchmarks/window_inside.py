"""The program under the eyes of ``window.py``: runs in the process that is measured."""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtWidgets import QApplication

NOTES_OF_LONG_SCORE = 9_000
NOTES_PER_SECOND = 20
_LIMIT_SECONDS = 180


class LoopWatch(QObject):
    """The longest time for which the event loop did not come round, a beat a millisecond."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.longest_seconds = 0.0
        self._last = time.perf_counter()
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._beat)

    def start(self) -> None:
        self.longest_seconds, self._last = 0.0, time.perf_counter()
        self._timer.start(1)

    def _beat(self) -> None:
        now = time.perf_counter()
        self.longest_seconds = max(self.longest_seconds, now - self._last)
        self._last = now


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


class Watched:
    """One run of the real program with folders of its own."""

    def __init__(self, home: Path) -> None:
        from companion.app import Companion, Places
        from companion.midi.listener import Listener

        self.application = QApplication(sys.argv[:1])
        places = Places(
            settings=home / "settings.toml", history=home / "history.db", cache=home / "cache"
        )
        self.home = home
        self.companion = Companion(self.application, places, Listener())
        self.loop = LoopWatch(self.application)
        self.view = self.companion.score_view
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
        self.companion.start(None)
        self.application.exec()

    def told(self) -> None:
        self.answer(painted_at=time.perf_counter())

    def expect_first_painting(self) -> None:
        self.paint.painted = self.first_painting

    def first_painting(self) -> None:
        if self.companion.stand.score is not None:
            self.paint.painted = lambda: None
            self.answer(painted_at=time.perf_counter())

    def open_long_score(self) -> None:
        """Open a new score of 9,000 notes in the running window."""
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
        seen["loop_blocked_longest_ms"] = 1000 * self.loop.longest_seconds
        seen["notes"] = float(len(self.companion.stand.score.notes))
        self.answer(**seen)

    def hear_notes(self, count: int) -> None:
        """Play into a real port while the long score is open."""
        path = self.long_score()
        self.companion.start(str(path))
        opening = self.companion.opening
        opening.ended.connect(lambda: QTimer.singleShot(3000, lambda: self.play(count)))
        self.application.exec()

    def play(self, count: int) -> None:
        import numpy as np

        from companion.midi.files import write_take
        from companion.history.model import RawEvent
        from tests.end_to_end.conftest import Piano

        self.companion.opening.ended.disconnect()
        notes = self.companion.stand.score.notes[:count]
        events = []
        for number, note in enumerate(notes):
            at = number / NOTES_PER_SECOND
            events.append(RawEvent(at, bytes((0x90, note.pitch, 64))))
            events.append(RawEvent(at + 0.04, bytes((0x80, note.pitch, 0))))
        take = self.home / "played.mid"
        write_take(take, tuple(events))
        heard: list[float] = []
        painted: list[float] = []
        waiting: list[int] = []

        def note_heard(*_: object) -> None:
            heard.append(time.perf_counter())
            waiting.append(len(heard) - 1)

        def score_painted() -> None:
            now = time.perf_counter()
            while waiting:
                waiting.pop()
                painted.append(now)

        self.companion.piano.note_heard.connect(note_heard)
        self.paint.painted = score_painted
        piano = Piano("Benchmark piano")
        self.until_connected(lambda: self.begin(piano, take))

        def finished() -> None:
            if len(heard) < len(notes):
                return
            sent = np.array(piano.sent())[::2]
            delays_ms = 1000 * (np.array(painted[: len(sent)]) - sent[: len(painted)])
            arrival_ms = 1000 * (np.array(heard) - sent[: len(heard)])
            p50, p95, p99 = np.percentile(delays_ms, [50, 95, 99])
            self.answer(
                notes=float(len(heard)), lost=float(len(notes) - len(heard)),
                painted=float(len(painted)),
                to_the_follower_median_ms=float(np.median(arrival_ms)),
                to_the_paint_median_ms=float(p50), to_the_paint_p95_ms=float(p95),
                to_the_paint_p99_ms=float(p99), to_the_paint_longest_ms=float(delays_ms.max()),
            )  # fmt: skip

        check = QTimer(self.application)
        check.timeout.connect(finished)
        check.start(500)

    def begin(self, piano: object, take: Path) -> None:
        piano.begin(f"play {take} 1")

    def until_connected(self, then: Callable[[], None]) -> None:
        if self.companion.piano.listener.state.connected:
            QTimer.singleShot(1000, then)
        else:
            QTimer.singleShot(50, lambda: self.until_connected(then))

    def long_score(self) -> Path:
        """A sample repeated to 9,000 notes and never seen before."""
        from tests.benchmarks.engraving import long_score

        path = self.home / f"long-{os.getpid()}.musicxml"
        path.write_bytes(long_score(NOTES_OF_LONG_SCORE))
        return path
