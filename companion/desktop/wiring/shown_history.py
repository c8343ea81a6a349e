"""What the window shows of a piece's history, worked up in a thread: the window never waits.

The thread reads the history file (which any thread may) and makes plain values of it. A newer
question makes an older one moot: only the newest answer is told.
"""

from __future__ import annotations

import threading
import traceback
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from companion.errors import CompanionError

if TYPE_CHECKING:
    from companion.analysis.tasks.model import Task
    from companion.desktop.days.content import DaysContent
    from companion.desktop.section_map.figures import MapFigures
    from companion.history.knowing.standing import PieceStanding
    from companion.practice.standing import Standing
    from companion.score.model import Score
    from companion.score.sections.section_map import SectionMap
    from companion.storage.history_file import HistoryFile


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Whose history is to be shown, in which tasks besides the sections, how days are counted.

    ``all_takes`` asks for every take one by one, however many there are.
    """

    piece_id: str
    basis: str
    score: Score = field(repr=False)
    section_map: SectionMap = field(repr=False)
    today: date
    zone: str
    day_starts_at_hour: int
    tasks: tuple[Task, ...] = ()
    all_takes: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MapShown:
    """The first part of the answer: the lanes of the map, how the piece stands, what is known."""

    question: Question
    standing: Standing = field(repr=False)
    figures: MapFigures
    known: PieceStanding = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """The second part: the page of the days, and how many takes lack results."""

    question: Question
    content: DaysContent
    takes_to_work_out: int


class ShownHistory(QObject):
    """Answers one question after the other.

    Signals
    -------
    map_ready(MapShown)
        The lanes of the map are known; with 2,000 takes the days follow half a second later.
    ready(Shown)
        The newest question is answered.
    failed(str)
        The history cannot be read: a plain sentence.
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    map_ready = Signal(object)
    ready = Signal(object)
    failed = Signal(str)
    broke = Signal(str, str)

    def __init__(self, history: HistoryFile, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._history = history
        self._changed = threading.Condition()
        self._question: Question | None = None
        self._closing = False
        self._wants_all: set[str] = set()  # ids of pieces
        self._thread = threading.Thread(target=self._run, name="shown history", daemon=True)

    def start(self) -> None:
        """Begin to answer; what was asked before waits until now."""
        self._thread.start()

    def ask(self, question: Question) -> None:
        """Ask; the answer comes as a signal."""
        with self._changed:
            wants_all = question.piece_id in self._wants_all
            self._question = replace(question, all_takes=True) if wants_all else question
            self._changed.notify()

    def want_all_takes(self, piece_id: str) -> None:
        """Answer for this piece with all takes one by one from now on."""
        self._wants_all.add(piece_id)

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
            map_shown = read_map(self._history, question)
            if self._is_moot():
                return
            self.map_ready.emit(map_shown)
            shown = read_days(self._history, map_shown)
        except CompanionError as error:
            self.failed.emit(str(error))
        except Exception as error:  # noqa: BLE001 - the edge of the thread: a bug is told, not lost
            self.broke.emit(repr(error), traceback.format_exc())
        else:
            if not self._is_moot():
                self.ready.emit(shown)

    def _is_moot(self) -> bool:
        with self._changed:
            return self._question is not None or self._closing


def read_map(history: HistoryFile, question: Question) -> MapShown:
    """Read what the map shows of a piece.

    Raises
    ------
    HistoryUnavailable
        The file cannot be read.
    """
    from companion.desktop.knowing.filling import depth_lane
    from companion.desktop.wiring.shown_figures import figures_of
    from companion.practice.knowing import KnowingAsked, piece_standing
    from companion.practice.standing import NEWEST_TAKES, standing_of

    section_map = question.section_map
    piece = history.piece(question.piece_id)
    known = piece_standing(
        history,
        KnowingAsked(
            piece_id=question.piece_id,
            basis=question.basis,
            score=question.score,
            section_map=section_map,
            today=question.today,
            performance=piece.performance_date if piece is not None else None,
            day_starts_at_hour=question.day_starts_at_hour,
            tasks=tuple(task.as_section for task in question.tasks),
        ),
    )
    standing = standing_of(
        history,
        question.piece_id,
        question.basis,
        section_map,
        question.day_starts_at_hour,
        newest=None if question.all_takes else NEWEST_TAKES,
        known=known,
    )
    figures = figures_of(
        standing,
        question.score,
        section_map,
        today=question.today,
        zone=question.zone,
        day_starts_at_hour=question.day_starts_at_hour,
    )
    return MapShown(
        question=question,
        standing=standing,
        figures=replace(figures, depth=depth_lane(known)),
        known=known,
    )


def read_days(history: HistoryFile, map_shown: MapShown) -> Shown:
    """Read what the page of the days shows, besides what was read for the map.

    Raises
    ------
    HistoryUnavailable
        The file cannot be read.
    """
    from companion.analysis.tasks.model import map_with_tasks
    from companion.desktop.days.filling import PieceHistory, days_content
    from companion.history.results import stretches_of
    from companion.practice.targets import target_at, target_of

    question, standing = map_shown.question, map_shown.standing
    score, section_map = question.score, question.section_map
    targets = {
        section.section_id: target
        for section in section_map.sections
        if (target := target_of(section, section_map, score)) is not None
    }
    for task in question.tasks:
        if (target := target_at(task.start, section_map, score)) is not None:
            targets[task.task_id] = target
    piece_history = PieceHistory(
        takes=standing.takes,
        results=history.section_results(
            question.piece_id,
            question.basis,
            stretches_of(map_with_tasks(section_map, question.tasks)),
            standing.since,
        ),
        counts=history.measure_counts_by_take(question.piece_id, question.basis, standing.since),
        take_counts={stretch: summary.take_count for stretch, summary in standing.sections.items()},
        since=standing.since,
        targets=targets,
        day_starts_at_hour=question.day_starts_at_hour,
        today=question.today,
    )
    return Shown(
        question=question,
        content=days_content(
            score, section_map, piece_history, [task.as_section for task in question.tasks]
        ),
        takes_to_work_out=standing.takes_to_work_out,
    )
