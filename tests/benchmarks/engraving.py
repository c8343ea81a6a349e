"""How fast a long score is engraved and how soon a mark is painted: prints figures.

Run with a display, for instance::

    Xvfb :21 -screen 0 1920x1080x24 &
    DISPLAY=:21 python tests/benchmarks/engraving.py

The score is a sample score repeated until it has about 9,000 notes. A mark counts as painted when
the event loop is reached again after the paint event, so the copy to the screen is included.
"""

from __future__ import annotations

import copy
import itertools
import sys
import time
from pathlib import Path

import numpy as np
from lxml import etree
from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtWidgets import QApplication

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from companion.desktop.palette import DAY
from companion.desktop.score_view.marks import MarkKind
from companion.desktop.score_view.score_palette import ScorePalette
from companion.desktop.score_view.score_view import ScoreView
from companion.resources import sample_scores_folder
from companion.score.engraving.engraver import engrave
from companion.score.engraving.model import EngravedPage, Layout

NOTES = 9_000
NOTES_PER_SECOND = 20
SECONDS = 20


def long_score(notes: int = NOTES) -> bytes:
    """Repeat the longest sample score until it has about this many notes."""
    path = max(sample_scores_folder().glob("*.musicxml"), key=lambda p: p.stat().st_size)
    tree = etree.parse(str(path)).getroot()
    part = tree.find("part")
    measures = part.findall("measure")
    while sum(1 for _ in part.iter("pitch")) < notes:
        for measure in measures:
            part.append(copy.deepcopy(measure))
    for number, note in enumerate(part.iter("note"), 1):
        note.set("id", f"n{number}")
    return etree.tostring(tree, xml_declaration=True, encoding="UTF-8")


def percentiles(label: str, values: list[float]) -> None:
    """Print median, p95, p99 and maximum of milliseconds."""
    p50, p95, p99 = np.percentile(values, [50, 95, 99])
    print(f"{label}: median {p50:.2f}  p95 {p95:.2f}  p99 {p99:.2f}  max {max(values):.2f} ms")


def time_engraving(musicxml: bytes) -> list[EngravedPage]:
    """Engrave, print when the pages came."""
    start, times, pages = time.perf_counter(), [], {}

    def take(page: EngravedPage) -> None:
        times.append(time.perf_counter() - start)
        pages[page.index] = page

    summary = engrave(musicxml, Layout(title="Benchmark"), emit=take)
    print(f"{summary.noteheads} noteheads, {summary.measures} measures, {summary.pages} pages")
    print(f"first page after {times[0]:.2f} s, all after {times[-1]:.2f} s")
    percentiles("page after page", [1000 * (b - a) for a, b in itertools.pairwise(times[1:])])
    return [pages[index] for index in sorted(pages)]


class PaintClock(QObject):
    """Tells when a paint event of the viewport has been carried out, and how large it was."""

    def __init__(self, view: ScoreView) -> None:
        super().__init__(view)
        self.started: tuple[float, float] | None = None
        self.latencies_ms: list[float] = []
        self.work_ms: list[float] = []
        self.shares: list[float] = []
        self._viewport = view._canvas.viewport()
        self._viewport.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint and self.started is not None:
            began, self.started = self.started, None
            whole = self._viewport.width() * self._viewport.height()
            painted = sum(rect.width() * rect.height() for rect in event.region())
            self.shares.append(painted / whole)
            QTimer.singleShot(0, lambda: self._painted(began))
        return False

    def _painted(self, began: tuple[float, float]) -> None:
        self.latencies_ms.append(1000 * (time.perf_counter() - began[0]))
        self.work_ms.append(1000 * (time.process_time() - began[1]))


class Player(QObject):
    """Marks notes at a steady pace, and moves the place along."""

    def __init__(self, view: ScoreView, pages: list[EngravedPage], clock: PaintClock) -> None:
        super().__init__(view)
        self._view = view
        self._clock = clock
        self._heads = [head for page in pages for head in page.noteheads]
        self._done = 0
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._play)
        self._timer.start(1000 // NOTES_PER_SECOND)

    def _play(self) -> None:
        if self._done >= NOTES_PER_SECOND * SECONDS:
            self._timer.stop()
            QApplication.exit()
            return
        head = self._heads[self._done]
        kind = [MarkKind.RIGHT, MarkKind.WRONG, MarkKind.RIGHT, MarkKind.MISSED][self._done % 4]
        self._clock.started = (time.perf_counter(), time.process_time())
        self._view.mark_note(head.note_id, kind, "F#5" if kind is MarkKind.WRONG else "")
        self._view.show_place(head.measure_index, 0.0, [head.note_id])
        self._done += 1


def main() -> None:
    """Print all figures."""
    musicxml = long_score()
    pages = time_engraving(musicxml)
    app = QApplication(sys.argv)
    view = ScoreView(ScorePalette.of_window(DAY))
    view.resize(1280, 800)
    view.show()
    adding = []
    view.set_layout(Layout(title="Benchmark"))
    start = time.perf_counter()
    for page in pages:
        before = time.perf_counter()
        view.add_page(page)
        adding.append(1000 * (time.perf_counter() - before))
    view.finish_pages()
    percentiles("add_page blocks", adding)
    built: list[float] = []

    def note_built(_page: int) -> None:
        built.append(time.perf_counter() - start)
        if len(built) == len(pages):
            app.exit()

    view.page_built.connect(note_built)
    app.exec()
    print(f"first page drawn after {built[0]:.2f} s, all {len(built)} after {built[-1]:.2f} s")
    clock = PaintClock(view)
    Player(view, pages, clock)
    app.exec()
    percentiles(f"note to paint at {NOTES_PER_SECOND}/s", clock.latencies_ms)
    percentiles("of it processor time of this program", clock.work_ms)
    ordered = sorted(clock.shares)
    print(
        f"painted share of the view: median {ordered[len(ordered) // 2]:.4f}, "
        f"largest {ordered[-1]:.3f} ({len(clock.latencies_ms)} paints)"
    )


if __name__ == "__main__":
    main()
