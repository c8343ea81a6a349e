"""Tasks inside the sections: looked for in the worker, measured, shown on the map and in a list."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, QTimer

from companion.analysis.tasks import model as edits
from companion.analysis.tasks.model import Task, TaskList
from companion.analysis.tasks.proposal import propose_tasks
from companion.desktop.days.content import DaysContent
from companion.desktop.jobs import Jobs, RunningJob
from companion.desktop.main_window import MainWindow
from companion.desktop.message_strip import Tone
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.stand import Stand
from companion.desktop.tasks.content import TasksContent
from companion.desktop.tasks.filling import map_tasks, tasks_content
from companion.desktop.tasks.page import TasksPage
from companion.desktop.tasks.wording import tr
from companion.desktop.wiring.takes_wiring import TakesWiring
from companion.desktop.wiring.work_wiring import WorkWiring
from companion.errors import EditRefused
from companion.history.edits import ChangeDocument
from companion.history.knowing.standing import PieceStanding
from companion.practice.lent_score import lend, with_score
from companion.practice.opening import OpenPiece
from companion.practice.tasks import TASKS, tasks_of, tasks_text
from companion.score.model import Hand, Position
from companion.score.sections.section_map import SectionMap

_AFTER_MS = 2000  # the score and its figures are there first
_AFTER_EDIT_MS = 400


class TasksWiring(QObject):
    """Holds the tasks of the piece on the stand.

    Proposals are measured like those that were kept: who looks at one sees at once how it went,
    and results by stretch cost little beside the match of a take.
    """

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        score_view: ScoreView,
        takes: TakesWiring,
        work: WorkWiring,
        jobs: Jobs,
        cache_folder: Path,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        self._takes = takes
        self._work = work
        self._jobs = jobs
        self._cache_folder = cache_folder
        self._job: RunningJob | None = None
        self._proposed: tuple[Task, ...] | None = None
        self._tasks = TaskList()
        self._days = DaysContent()
        self._standing: PieceStanding | None = None
        self._content = TasksContent()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self._look_for_tasks)
        stand.piece_laid.connect(self._piece_laid)
        stand.map_changed.connect(self._map_changed)
        stand.hands_changed.connect(self._look_again)
        stand.document_changed.connect(self._document_changed)
        takes.days_known.connect(self._days_known)
        work.order_changed.connect(self._fill)
        view = window.map_view
        view.task_chosen.connect(self._chosen_on_map)
        view.task_opened.connect(self._open)
        actions = window.actions_by_id
        actions["add_task"].triggered.connect(self._add)
        actions["show_tasks"].toggled.connect(self._show_on_map)
        window.pages.late_tasks.when_built(self._page_built)
        if stand.open_piece is not None:
            self._piece_laid(stand.open_piece)

    @property
    def tasks(self) -> TaskList:
        """Kept and proposed tasks."""
        return self._tasks

    @property
    def found(self) -> bool:
        """Whether proposals have been looked for."""
        return self._proposed is not None

    def _page_built(self, page: TasksPage) -> None:
        page.task_chosen.connect(self._chosen_in_list)
        page.score_asked.connect(self._show_in_score)
        page.kept.connect(lambda task_id: self._edit(edits.keep, tr("Keep task"), task_id))
        page.dismissed.connect(self._dismiss)
        page.added.connect(self._add)
        page.brought_back.connect(lambda: self._edit(edits.bring_back, tr("Bring tasks back")))
        page.sheet.renamed.connect(
            lambda task_id, name: self._edit(edits.rename_task, tr("Rename task"), task_id, name)
        )
        page.sheet.written.connect(
            lambda task_id, words: self._edit(
                edits.write_how_to_practise, tr("Write how to practise"), task_id, words
            )
        )
        page.sheet.moved.connect(self._move)
        page.show_content(self._content)

    # -- looking for them ------------------------------------------------------------------------

    def _piece_laid(self, _opened: OpenPiece) -> None:
        self._forget_job()
        self._proposed = None
        self._days, self._standing = DaysContent(), None
        self._keep_up()
        self._timer.start(_AFTER_MS)

    def _map_changed(self, _section_map: SectionMap) -> None:
        if self._stand.open_piece is None:  # it was taken off the stand
            self._forget_job()
            self._proposed, self._tasks = None, TaskList()
            self._show(TasksContent())
            return
        self._timer.start(_AFTER_EDIT_MS if self._proposed is not None else _AFTER_MS)

    def _look_again(self, _opened: OpenPiece) -> None:
        self._timer.start(_AFTER_EDIT_MS)

    def _forget_job(self) -> None:
        if self._job is not None and not self._job.over:
            self._job.forget()
        self._job = None

    def _look_for_tasks(self) -> None:
        opened = self._stand.open_piece
        if opened is None or not self._stand.section_map.sections or self._stand.map_is_preliminary:
            return
        self._forget_job()
        self._job = self._jobs.run(
            with_score,
            propose_tasks,
            lend(opened, self._cache_folder),
            self._stand.section_map,
        )
        self._job.succeeded.connect(self._found)
        self._job.failed.connect(self._window.messages.show_message)

    def _found(self, proposed: object) -> None:
        if isinstance(proposed, tuple):
            self._proposed = proposed
            self._keep_up()

    def _document_changed(self, kind: str, _content: str) -> None:
        if kind == TASKS:
            self._keep_up()

    def _keep_up(self) -> None:
        """Join what was kept with what is proposed; measure and show it."""
        self._tasks, trouble = tasks_of(self._stand.document(TASKS), self._proposed or ())
        if trouble and self._proposed is None:
            self._window.messages.show_message(trouble)
        self._takes.measure_in(self._tasks.tasks)
        self._fill()

    # -- showing ---------------------------------------------------------------------------------

    def _days_known(self, days: DaysContent) -> None:
        self._days = days
        self._fill()

    def standing_known(self, standing: PieceStanding) -> None:
        """Tell since when the tasks are known."""
        self._standing = standing
        self._fill()

    def _fill(self) -> None:
        score = self._stand.score
        if score is None:
            return
        if self._proposed is None and not self._tasks.tasks:
            self._show(TasksContent(open=True, waiting=True))
            return
        ranks = {section_id: rank for rank, section_id in enumerate(self._work.order, 1)}
        section_map, tasks = self._stand.section_map, self._tasks
        self._show(tasks_content(score, section_map, tasks, self._days, ranks, self._standing))

    def _show(self, content: TasksContent) -> None:
        self._content = content
        self._show_on_map()
        self._window.pages.late_tasks.if_built(lambda page: page.show_content(self._content))

    def _show_on_map(self) -> None:
        shown = self._window.actions_by_id["show_tasks"].isChecked()
        tasks = map_tasks(self._tasks, self._content) if shown and self._content.lines else ()
        self._window.map_view.show_tasks(tasks)

    def _chosen_on_map(self, task_id: str) -> None:
        self._highlight(task_id)
        self._window.pages.late_tasks.if_built(lambda page: page.choose_task(task_id))

    def _chosen_in_list(self, task_id: str) -> None:
        if self._window.map_view.chosen_task_id != task_id:
            self._window.map_view.choose_task(task_id)
        self._highlight(task_id)

    def _highlight(self, task_id: str) -> None:
        task = self._task(task_id)
        if task is not None:
            self._score_view.highlight_section(task.start, task.end)

    def _open(self, task_id: str) -> None:
        self._window.show_page("page_tasks")
        page = self._window.pages.tasks
        page.choose_task(task_id)
        page.focus_list()

    def _show_in_score(self, task_id: str) -> None:
        task = self._task(task_id)
        if task is not None:
            self._window.show_page("page_score")
            self._highlight(task_id)
            self._score_view.focus_measure(task.start.measure_index)

    def _task(self, task_id: str) -> Task | None:
        return next((task for task in self._tasks.tasks if task.task_id == task_id), None)

    # -- edits -----------------------------------------------------------------------------------

    def _edit(self, edit: Callable[..., TaskList], doing: str, *arguments: object) -> None:
        piece = self._stand.piece
        if piece is None:
            return
        try:
            edited = edit(self._tasks, *arguments)
        except EditRefused as error:
            self._window.messages.show_message(str(error), Tone.CALM)
            self._fill()  # the fields show again what holds
            return
        before, after = self._stand.document(TASKS), tasks_text(edited)
        if before != after:
            self._stand.do(ChangeDocument(piece.piece_id, TASKS, before, after, doing))

    def _dismiss(self, task_id: str) -> None:
        task = self._task(task_id)
        if task is not None:
            doing = tr("Take task away") if task.kept else tr("Turn task down")
            self._edit(edits.dismiss, doing, task_id)

    def _move(self, task_id: str, first: int, last: int) -> None:
        self._edit(edits.move_task, tr("Move task"), task_id, Position(first), Position(last + 1))

    def _add(self) -> None:
        """Make a task of the selected measures, of one hand where only that is selected."""
        score, chosen = self._stand.score, set(self._score_view.selected_notes)
        if score is None:
            return
        notes = [note for note in score.notes if note.note_id in chosen]
        if not notes:
            self._window.show_page("page_score")
            self._window.messages.show_message(
                tr("Select the measures first: click one, then Shift-click the last."), Tone.CALM
            )
            return
        first = min(note.measure_index for note in notes)
        last = max(note.measure_index for note in notes)
        hands = {note.playing_hand for note in notes}
        hand: Hand | None = hands.pop() if len(hands) == 1 else None
        numbers = [score.measures[index].number for index in (first, last)]
        span = numbers[0] if first == last else "–".join(numbers)
        before = {task.task_id for task in self._tasks.tasks}
        self._edit(
            edits.add_task,
            tr("Add task"),
            tr("Task in {measures}").format(measures=span),
            Position(first),
            Position(last + 1),
            hand,
        )
        for task in self._tasks.tasks:
            if task.task_id not in before:
                self._open(task.task_id)
                self._window.map_view.choose_task(task.task_id)
                self._window.pages.tasks.sheet.focus_name()
