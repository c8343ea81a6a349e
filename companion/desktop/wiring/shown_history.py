"""What the window shows of a piece's history, worked up in a thread: the window never waits.

The thread reads the history file (which any thread may) and makes plain values of it. A newer
question makes an older one moot: only the newest answer is told.
"""

from __future__ import annotations

import threading
import traceback
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from companion.errors import CompanionError

if TYPE_CHECKING:
    from companion.desktop.days.content import DaysContent
    from companion.desktop.section_map.figures import MapFigures
    from companion.score.model import Score
    from companion.score.section_map import SectionMap
    from companion.storage.history_file import HistoryFile


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Whose history is to be shown, and how days are counted."""

    piece_id: str
    basis: str
    score: Score = field(repr=False)
    section_map: SectionMap = field(repr=False)
    today: date
    zone: str
    day_starts_at_hour: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """The answer: lanes of the map, page of the days, takes that lack results."""

    question: Question
    figures: MapFigures
    content: DaysContent
    takes_to_work_out: int


class ShownHistory(QObject):
    """Answers one question after the other.

    Signals
    -------
    ready(Shown)
        The newest question is answered.
    failed(str)
        The history cannot be read: a plain sentence.
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    ready = Signal(object)
    failed = Signal(str)
    broke = Signal(str, str)

    def __init__(self, history: HistoryFile, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._history = history
        self._changed = threading.Condition()
        self._question: Question | None = None
        self._closing = False
        self._thread = threading.Thread(target=self._run, name="shown history", daemon=True)

    def start(self) -> None:
        """Begin to answer; what was asked before waits until now."""
        self._thread.start()

    def ask(self, question: Question) -> None:
        """Ask; the answer comes as a signal."""
        with self._changed:
            self._question = question
            self._changed.notify()

    def close(self) -> None:
        """End the thread."""
        with self._changed:
            self._closing = True
            self._changed.notify()
        if self._thread.is_alive():
            self._thread.join(5.0)

    # all below runs in the thread

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._question is not None or self._closing)
                if self._closing:
                    return
                question, self._question = self._question, None
            if question is not None:
                self._answer(question)

    def _answer(self, question: Question) -> None:
        try:
            shown = read_history(self._history, question)
        except CompanionError as error:
            self.failed.emit(str(error))
        except Exception as error:  # noqa: BLE001 - the edge of the thread: a bug is told, not lost
            self.broke.emit(repr(error), traceback.format_exc())
        else:
            with self._changed:
                moot = self._question is not None or self._closing
            if not moot:
                self.ready.emit(shown)


def read_history(history: HistoryFile, question: Question) -> Shown:
    """Read everything that is shown of a piece.

    Raises
    ------
    HistoryUnavailable
        The file cannot be read.
    """
    from companion.desktop.days.filling import PieceHistory, days_content
    from companion.desktop.wiring.shown_figures import figures_of
    from companion.history.results import stretches_of
    from companion.practice.opening import standing_of
    from companion.practice.targets import target_of

    score, section_map = question.score, question.section_map
    standing = standing_of(
        history, question.piece_id, question.basis, section_map, question.day_starts_at_hour
    )
    targets = {
        section.section_id: target
        for section in section_map.sections
        if (target := target_of(section, section_map, score)) is not None
    }
    piece_history = PieceHistory(
        takes=standing.takes,
        results=history.section_results(
            question.piece_id, question.basis, stretches_of(section_map)
        ),
        counts=history.measure_counts_by_take(question.piece_id, question.basis),
        targets=targets,
        day_starts_at_hour=question.day_starts_at_hour,
        today=question.today,
    )
    figures = figures_of(
        standing,
        score,
        section_map,
        today=question.today,
        zone=question.zone,
        day_starts_at_hour=question.day_starts_at_hour,
    )
    return Shown(
        question=question,
        figures=figures,
        content=days_content(score, section_map, piece_history),
        takes_to_work_out=standing.takes_to_work_out,
    )
