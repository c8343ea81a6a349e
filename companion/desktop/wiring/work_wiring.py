"""Where the work lies, on the map: estimated in the worker, corrected by takes, reordered."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from companion.analysis.harmony import Harmony
from companion.analysis.workload.model import Workload
from companion.analysis.workload.ranking import hardest_first
from companion.desktop.jobs import Jobs, RunningJob
from companion.desktop.last_asked import LastAsked
from companion.desktop.main_window import MainWindow
from companion.desktop.message_strip import Tone
from companion.desktop.section_map.figures import KeyFigures, WorkFigures
from companion.desktop.stand import Stand
from companion.desktop.wiring.harmony_wiring import HarmonyWiring
from companion.history.edits import ChangeDocument
from companion.history.results import stretches_of
from companion.practice.lent_score import lend, with_score
from companion.practice.opening import OpenPiece
from companion.practice.standing import newest_since
from companion.practice.workload import (
    WORK_ORDER,
    corrected_by_practice,
    estimated,
    order_to_text,
    text_to_order,
)
from companion.score.model import Position, Score
from companion.score.sections.section_map import SectionMap

_AFTER_MS = 2500  # the score and its figures are there first
_AFTER_EDIT_MS = 600


class WorkWiring(QObject):
    """Holds the workload of the piece on the stand, and shows it with the key plan.

    Signals
    -------
    order_changed()
        The sections stand in another order of work.
    """

    order_changed = Signal()

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        harmony: HarmonyWiring,
        jobs: Jobs,
        cache_folder: Path,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._jobs = jobs
        self._cache_folder = cache_folder
        self._job: RunningJob | None = None
        self._correcting = LastAsked(self)
        self._correcting.answered.connect(self._corrected)
        self._waits = self._owes = False
        self._estimate: Workload | None = None
        self._workload: Workload | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self._estimate_now)
        stand.piece_laid.connect(self._piece_laid)
        stand.map_changed.connect(self._map_changed)
        stand.hands_changed.connect(self._piece_laid)
        stand.takes_changed.connect(self._correct)
        stand.document_changed.connect(self._document_changed)
        actions = window.actions_by_id
        actions["work_earlier"].triggered.connect(self._earlier)
        actions["work_later"].triggered.connect(self._later)
        actions["work_as_estimated"].triggered.connect(self._as_estimated)
        actions["show_harmony"].toggled.connect(self._show_keys)
        harmony.changed.connect(self._harmony_changed)
        self._harmony: Harmony | None = harmony.harmony
        self._show_keys(actions["show_harmony"].isChecked())
        if stand.open_piece is not None:
            self._piece_laid(stand.open_piece)

    @property
    def workload(self) -> Workload | None:
        """The workload as it stands now; None until it is known."""
        return self._workload

    @property
    def order(self) -> tuple[str, ...]:
        """Ids of the sections in the order in which to work on them, the hardest first."""
        if self._workload is None:
            return ()
        wanted = text_to_order(self._stand.document(WORK_ORDER))
        return hardest_first(self._workload, self._stand.section_map, wanted)

    def results_changed(self) -> None:
        """Takes were worked out: let them have their say."""
        self._correct()

    def wait_with_corrections(self, waits: bool) -> None:
        """Read no results meanwhile: a score is being loaded, and the window has to answer."""
        self._waits = waits
        if self._owes and not waits:
            self._correct()

    def close(self) -> None:
        """Wait for what is being read."""
        self._correcting.close()

    # -- working out -----------------------------------------------------------------------------

    def _piece_laid(self, _opened: OpenPiece) -> None:
        if self._job is not None and not self._job.over:
            self._job.forget()  # it is about the piece before
        self._estimate = self._workload = None
        self._window.map_view.show_work(())
        self._timer.start(_AFTER_MS)

    def _map_changed(self, _section_map: SectionMap) -> None:
        self._timer.start(_AFTER_EDIT_MS if self._estimate is not None else _AFTER_MS)

    def _estimate_now(self) -> None:
        opened = self._stand.open_piece
        if opened is None or not self._stand.section_map.sections:
            return
        if self._stand.map_is_preliminary:
            return  # the sections of the form are about to come
        if self._job is not None and not self._job.over:
            self._job.forget()
        self._job = self._jobs.run(
            with_score,
            estimated,
            lend(opened, self._cache_folder),
            self._stand.section_map,
            self._cache_folder,
        )
        self._job.succeeded.connect(self._estimated)
        self._job.failed.connect(self._window.messages.show_message)

    def _estimated(self, workload: object) -> None:
        if isinstance(workload, Workload):
            self._estimate = self._workload = workload
            self._show()
            self._correct()

    def _correct(self) -> None:
        opened, estimate, history = self._stand.open_piece, self._estimate, self._stand.history
        if opened is None or estimate is None or history is None or opened.score is None:
            return
        self._owes = self._waits
        if self._waits:
            return
        score, section_map = opened.score, self._stand.section_map
        piece_id, basis = opened.piece.piece_id, opened.basis
        stretches = stretches_of(section_map)
        self._correcting.ask(
            lambda _report: corrected_by_practice(
                estimate,
                score,
                section_map,
                # takes lose half of their weight with every five newer ones
                history.section_results(
                    piece_id, basis, stretches, newest_since(history, piece_id)
                ),
            )
        )

    def _corrected(self, workload: object) -> None:
        if isinstance(workload, Workload) and self._fits(workload):
            self._workload = workload
            self._show()

    def _fits(self, workload: Workload) -> bool:
        """Whether it was made for the map that is shown now."""
        return {each.section_id for each in workload.sections} == {
            each.section_id for each in self._stand.section_map.sections
        }

    # -- showing ---------------------------------------------------------------------------------

    def _show(self) -> None:
        workload = self._workload
        if workload is None or not self._fits(workload):
            return
        order = self.order
        beside = {section_id: rank for rank, section_id in enumerate(order, 1)}
        self._window.map_view.show_work(
            tuple(
                WorkFigures(
                    section_id=each.section_id,
                    rank=beside.get(each.section_id, each.rank),
                    of=len(order) if each.section_id in beside else len(workload.sections),
                    level=each.level,
                    words=each.in_words,
                    corrected=each.corrected,
                )
                for each in workload.sections
            )
        )
        self.order_changed.emit()

    def _harmony_changed(self, harmony: Harmony | None) -> None:
        self._harmony = harmony
        self._show_keys(self._window.actions_by_id["show_harmony"].isChecked())

    def _show_keys(self, shown: bool) -> None:
        score = self._stand.score
        if not shown:
            self._window.map_view.show_keys(None)
            return
        areas = self._harmony.key_areas if self._harmony is not None and score is not None else ()
        self._window.map_view.show_keys(
            tuple(
                KeyFigures(
                    start_measure=_along(score, area.position),
                    end_measure=_along(score, score.position_at(area.end_quarters)),
                    short=area.key.name.replace("b", "♭").replace("#", "♯")
                    if area.key.name not in ("b", "B")
                    else area.key.name,
                    spoken=area.key.spoken_name,
                )
                for area in areas
                if score is not None
            )
        )

    # -- order -----------------------------------------------------------------------------------

    def _document_changed(self, kind: str, _content: str) -> None:
        if kind == WORK_ORDER:
            self._show()

    def _earlier(self) -> None:
        self._move(-1)

    def _later(self) -> None:
        self._move(1)

    def _move(self, step: int) -> None:
        selected, order = self._window.map_view.selected, list(self.order)
        if selected is None or selected.section_id not in order:
            self._window.messages.show_message(
                self.tr("Select a section that has no sections inside first."), Tone.CALM
            )
            return
        place = order.index(selected.section_id)
        goal = place + step
        if not 0 <= goal < len(order):
            return
        order[place], order[goal] = order[goal], order[place]
        self._write(order_to_text(order), self.tr("Order of work"))

    def _as_estimated(self) -> None:
        self._write("", self.tr("Order of work as estimated"))

    def _write(self, after: str, doing: str) -> None:
        piece, before = self._stand.piece, self._stand.document(WORK_ORDER)
        if piece is not None and before != after:
            self._stand.do(ChangeDocument(piece.piece_id, WORK_ORDER, before, after, doing))


def _along(score: Score, position: Position) -> float:
    """A place as a number of measures from the beginning, with the share of the last one."""
    if position.measure_index >= len(score.measures):
        return float(len(score.measures))
    length = score.measures[position.measure_index].duration_quarters or Fraction(1)
    return position.measure_index + float(position.offset_quarters / length)
