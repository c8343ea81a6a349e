"""After a take: worked out, kept, shown on the map, in the score, in the lists; edits of takes."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QPoint, Qt, QTimer, Signal
from PySide6.QtWidgets import QMenu

from companion.analysis.tasks.model import Task, map_with_tasks
from companion.desktop.action_table import TAKE_MENU_ACTIONS
from companion.desktop.days.content import DaysContent, TakeRow
from companion.desktop.jobs import Jobs
from companion.desktop.main_window import MainWindow
from companion.desktop.message_strip import Tone
from companion.desktop.percent import percent
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.stand import Stand
from companion.desktop.wiring.calendar import Calendar
from companion.desktop.wiring.passages_wiring import PassagesWiring
from companion.desktop.wiring.place_words import PlaceWords
from companion.desktop.wiring.shown_history import MapShown, Question, Shown, ShownHistory
from companion.desktop.wiring.take_figures import figure_lines
from companion.desktop.wiring.take_lines import today_lines, when_text
from companion.desktop.working_out import Request, WorkingOut
from companion.history.edits import AnnotateTake, DeleteTakes, MarkMemory, RenameTake
from companion.history.model import Take
from companion.listening.notes import Hands
from companion.practice.lent_score import lend, with_score
from companion.practice.opening import OpenPiece
from companion.practice.results import WorkedOut, work_out_take
from companion.score.sections.section_map import SectionMap

if TYPE_CHECKING:
    from companion.desktop.days.page import DaysPage

_GATHER_MS = 60  # several changes in a row are shown once


class TakesWiring(QObject):
    """Keeps everything that is derived from takes up to date on the screen.

    Signals
    -------
    days_known(DaysContent)
        How sections and tasks went day by day was read anew.
    played(Take, WorkedOut)
        A take that has just been played was worked out.
    """

    days_known = Signal(object)
    played = Signal(object, object)

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        score_view: ScoreView,
        *,
        jobs: Jobs,
        working_out: WorkingOut | None,
        reader: ShownHistory | None,
        calendar: Calendar,
        hands_names: dict[Hands, str],
        cache_folder: Path,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        self._days_page = window.pages.late_days
        self._jobs = jobs
        self._cache_folder = cache_folder
        self._working_out = working_out
        self._calendar = calendar
        self._hands_names = hands_names
        self._content = DaysContent()
        self._tasks: tuple[Task, ...] = ()
        self._words = PlaceWords()
        score_view.set_description_source(self._words.describe)
        score_view.note_clicked.connect(self._note_clicked)
        score_view.measure_clicked.connect(self._measure_clicked)
        self.passages = PassagesWiring(window, stand, score_view, self._words, hands_names)
        self.passages.shown.connect(self._show_figures)
        self._reader = reader
        if reader is not None:
            reader.map_ready.connect(self._show_map)
            reader.ready.connect(self._show)
            reader.failed.connect(window.messages.show_message)
        self._just_played: dict[str, Take] = {}  # finished, and still being worked out
        self._by_heart: set[str] = set()  # heard from memory, until the history tells it
        self._figures_told: tuple[WorkedOut, int | None, bool] | None = None
        self._newest: str | None = None
        self._may_recall = False
        self._recalled: str | None = None
        self._playing = False
        self._waiting: dict[str, WorkedOut] = {}
        self._refresh_timer = QTimer(self)
        self._refresh_timer.setSingleShot(True)
        self._refresh_timer.setInterval(_GATHER_MS)
        self._refresh_timer.timeout.connect(self._refresh)
        stand.with_piece(self._piece_laid)
        stand.with_map(self._map_changed)
        stand.hands_changed.connect(self._hands_changed)
        stand.takes_changed.connect(self._refresh_timer.start)
        if working_out is not None:
            working_out.progressed.connect(self._refresh_timer.start)
            working_out.finished.connect(self._refresh_timer.start)
            working_out.failed.connect(window.messages.show_message)
        window.listener.take_chosen.connect(self.show_take)
        window.listener.take_menu_asked.connect(self._take_menu)
        window.actions_by_id["delete_take"].triggered.connect(self._delete_chosen)
        window.actions_by_id["put_marks_away"].triggered.connect(self._put_marks_away)
        self._days_page.when_built(self._wire_days_page)

    def _wire_days_page(self, page: DaysPage) -> None:
        page.show_content(self._content)
        page.take_chosen.connect(self.show_take)
        page.section_chosen.connect(self._section_chosen)
        map_view = self._window.map_view
        map_view.section_marked.connect(page.mark_section)
        map_view.section_chosen.connect(page.show_section)
        page.mark_section(map_view.selected.section_id if map_view.selected else None)
        page.measure_chosen.connect(self._score_view.show_measure)
        page.take_renamed.connect(self._rename)
        page.take_annotated.connect(self._annotate)
        page.takes_from_memory.connect(self._mark_memory)
        page.takes_deleted.connect(self._delete)

    @property
    def chosen_take_id(self) -> str | None:
        """The take chosen in the list of today or on the page of the days, else the newest."""
        if self._window.page == "page_days":
            chosen = self._days_page.get().chosen_takes()
            if chosen:
                return str(chosen[0])
        chosen_today = self._window.listener.chosen_take_id
        if chosen_today is not None:
            return chosen_today
        return self._content.takes[0].take.take_id if self._content.takes else None

    def use_calendar(self, calendar: Calendar) -> None:
        """Count days in this way from now on."""
        self._calendar = calendar
        self._refresh()

    def take_begun(self) -> None:
        """Put the marks of earlier takes away: another one is being played."""
        self._playing = True
        self._recall_nothing()
        self.passages.clear()

    def take_finished(self, take: Take) -> None:
        """Work a take out that has just been played."""
        self._playing = False
        piece = self._stand.piece
        # opening another score ends the take of the one before; that is compared with its own
        # score when it is opened again
        if piece is not None and take.piece_id == piece.piece_id:
            self._just_played[take.take_id] = take
            if take.from_memory:
                self._by_heart.add(take.take_id)
            self._newest = take.take_id
            self._work_out(take)

    def show_take(self, take_id: str) -> None:
        """Show the marks of a take in the score."""
        history = self._stand.history
        take = history.take(take_id) if history is not None else None
        if take is not None:
            self._recall_nothing()
            self._work_out(take)

    def _recall(self) -> None:
        """Show once, when a piece was laid there, the marks of the take that was played last."""
        if not self._may_recall or self._stand.history is None:
            return
        self._may_recall = False
        rows = self._content.takes
        take = self._stand.history.take(rows[0].take.take_id) if rows else None
        if take is not None:
            self._recalled = take.take_id
            self._work_out(take)

    def _recall_nothing(self) -> None:
        self._may_recall, self._recalled = False, None

    def _put_marks_away(self) -> None:
        self._recall_nothing()
        self.passages.clear()
        self._window.listener.show_waiting()

    def measure_in(self, tasks: tuple[Task, ...]) -> None:
        """Measure takes in these tasks too, besides the sections."""
        if tasks != self._tasks:
            self._tasks = tasks
            self._refresh()
            self.bring_up_to_date()

    @property
    def measured_map(self) -> SectionMap:
        """Sections and tasks: to measure takes in and to export, never to show."""
        return map_with_tasks(self._stand.section_map, self._tasks)

    def bring_up_to_date(self) -> None:
        """Work out whatever takes of the piece lack."""
        opened = self._stand.open_piece
        if self._stand.map_is_preliminary:
            return  # other sections are about to come, and the results would be made twice
        if opened is not None and self._working_out is not None:
            self._working_out.ask(
                Request(
                    piece_id=opened.piece.piece_id,
                    score=opened.score,
                    section_map=self.measured_map,
                    basis=opened.basis,
                )
            )

    # working out

    def _work_out(self, take: Take) -> None:
        opened = self._stand.open_piece
        if opened is None:
            return
        job = self._jobs.run(
            with_score,
            work_out_take,
            lend(opened, self._cache_folder),
            self.measured_map,
            take,
            opened.basis,
        )
        job.succeeded.connect(self._worked_out)
        job.failed.connect(self._window.messages.show_message)

    def _worked_out(self, worked: WorkedOut) -> None:
        opened = self._stand.open_piece
        just_played = self._just_played.pop(worked.take_id, None)
        if opened is None or worked.results.basis != opened.basis:
            return
        if worked.take_id == self._recalled:
            self._recalled = None
            if worked.match.passages and not self._playing:
                self.passages.show_take(opened.score, worked, self._when(worked.take_id))
            return
        # the next take may have been begun, or even finished, in the meantime
        if just_played is None or (worked.take_id == self._newest and not self._playing):
            self.passages.show_take(opened.score, worked, self._when(worked.take_id))
        if just_played is not None:
            self._keep(worked)
            self.played.emit(just_played, worked)
        elif worked.match.passages:
            self._score_view.show_measure(worked.match.passages[0].from_measure_index)
            self._window.show_page("page_score")

    def _keep(self, worked: WorkedOut) -> None:
        history = self._stand.history
        if history is None:
            return
        if history.take(worked.take_id) is None:
            # the journal is still writing it: the results follow when it says so
            self._waiting[worked.take_id] = worked
            return
        history.save_results((worked.results,))
        self._refresh()

    def take_saved(self, take: Take) -> None:
        """Keep the results of a take that has just reached the disk."""
        worked = self._waiting.pop(take.take_id, None)
        if worked is not None:
            self._keep(worked)
        elif take.take_id not in self._just_played:
            self._refresh()

    def _when(self, take_id: str) -> str:
        """When an earlier take was played; "" for the one that was played just now."""
        row = self._row(take_id)
        return when_text(row) if row is not None and take_id != self._newest else ""

    def _show_figures(self, worked: WorkedOut, passage: int | None) -> None:
        """Show how a take went, or (its index) one passage of it alone."""
        whole, sections = worked.measures.whole, worked.measures.sections
        listener = self._window.listener
        if whole.accuracy is None or not worked.match.passages:
            text = self.tr("The take does not belong to this piece, as far as can be told.")
            listener.show_finished(text)
            return
        when = self._when(worked.take_id)
        name = self.tr("Take of {when}").format(when=when) if when else self.tr("The last take")
        first = worked.match.passages[passage or 0].from_measure_index
        if passage is not None:
            whole = worked.measures.whole_passages[passage]
            sections = tuple(r for r in worked.measures.passages if r.passage == whole.passage)
            name = self.tr("{name}, passage {number} of {count}").format(
                name=name, number=passage + 1, count=len(worked.match.passages)
            )
        opened = self._stand.open_piece
        beat = opened.score.measures[first].beat_quarters if opened is not None else Fraction(1)
        names = [
            self._stand.section_map.section(section_id).name
            for section_id in dict.fromkeys(row.section_id for row in sections)
            if section_id in self._stand.section_map
        ]
        told = [self.tr("Sections: {names}").format(names=", ".join(names))] if names else []
        kept = {task.task_id: task.name for task in self._tasks if task.kept}
        tasks = [
            f"{kept[row.section_id]} {percent(row.accuracy)}"
            for row in sections
            if row.section_id in kept and row.complete and row.accuracy is not None
        ]
        if tasks:
            told.append(self.tr("Tasks: {names}").format(names=", ".join(tasks)))
        by_heart = self._is_from_memory(worked.take_id)
        self._figures_told = (worked, passage, by_heart)
        hands = self._hands_names[whole.hands]
        if by_heart:
            hands = self.tr("{hands}, from memory").format(hands=hands)
        listener.show_finished(
            self.tr("{name}: {hands}").format(name=name, hands=hands),
            figure_lines(whole, beat),
            "\n".join(told),
        )

    # showing

    def _piece_laid(self, opened: OpenPiece) -> None:
        self._tasks = ()
        self._words.hold_score(opened.score)
        self._window.listener.show_waiting()
        self._may_recall, self._recalled = True, None

    def _hands_changed(self, opened: OpenPiece) -> None:
        self._words.hold_score(opened.score)
        self.passages.clear()
        self._refresh()
        self.bring_up_to_date()

    def _map_changed(self, _section_map: SectionMap) -> None:
        self._refresh()
        self.bring_up_to_date()

    def _refresh(self) -> None:
        opened = self._stand.open_piece
        if opened is None or self._reader is None:
            return
        calendar = self._calendar
        self._reader.ask(
            Question(
                piece_id=opened.piece.piece_id,
                basis=opened.basis,
                score=opened.score,
                section_map=self._stand.section_map,
                tasks=self._tasks,
                today=calendar.today,
                zone=calendar.zone,
                day_starts_at_hour=calendar.day_starts_at_hour,
            )
        )

    def _show_map(self, shown: MapShown) -> None:
        piece = self._stand.piece
        if piece is not None and shown.question.piece_id == piece.piece_id:
            self._words.hold_figures(shown.figures)
            self._window.map_view.show_figures(shown.figures)

    def _show(self, shown: Shown) -> None:
        piece = self._stand.piece
        if piece is None or shown.question.piece_id != piece.piece_id:
            return
        self._content = shown.content
        self._days_page.if_built(lambda page: page.show_content(shown.content))
        self.days_known.emit(shown.content)
        self._window.listener.show_takes(today_lines(shown.content, self._hands_names))
        self._show_status()
        self._tell_memory_anew()
        self._recall()

    def _show_status(self) -> None:
        score = self._stand.score
        if score is None:
            return
        self._window.show_status(
            self.tr("Measures: {measures}, notes: {notes}, takes so far: {takes}").format(
                measures=len(score.measures),
                notes=len(score.notes),
                takes=len(self._content.takes),
            )
        )

    def _section_chosen(self, section_id: str) -> None:
        self._window.map_view.choose(section_id)

    def _note_clicked(self, note_id: str) -> None:
        score = self._stand.score
        note = next((n for n in score.notes if n.note_id == note_id), None) if score else None
        if note is not None:
            self._window.show_words(self._words.describe(note_id, note.measure_index))

    def _measure_clicked(self, measure_index: int) -> None:
        self._window.show_words(self._words.describe(None, measure_index))

    # edits

    def _row(self, take_id: str) -> TakeRow | None:
        return next((row for row in self._content.takes if row.take.take_id == take_id), None)

    def _rename(self, take_id: str, name: str) -> None:
        row = self._row(take_id)
        if row is not None and row.take.name != name:
            self._stand.do(RenameTake(take_id, row.take.name, name))

    def _annotate(self, take_id: str, remark: str) -> None:
        row = self._row(take_id)
        if row is not None and row.take.remark != remark:
            self._stand.do(AnnotateTake(take_id, row.take.remark, remark))

    def _is_from_memory(self, take_id: str) -> bool:
        row = self._row(take_id)
        return row.take.from_memory if row is not None else take_id in self._by_heart

    def _mark_memory(self, take_ids: list[str], from_memory: bool) -> None:
        otherwise = tuple(
            take_id for take_id in take_ids if self._is_from_memory(take_id) is not from_memory
        )
        if otherwise:
            self._stand.do(MarkMemory(otherwise, from_memory))

    def _tell_memory_anew(self) -> None:
        """Correct what the panel says of the take whose figures it shows."""
        told = self._figures_told
        if told is None:
            return
        worked, passage, by_heart = told
        still_shown = worked.take_id == self.passages.take_id and not self._playing
        if still_shown and self._is_from_memory(worked.take_id) is not by_heart:
            self._show_figures(worked, passage)

    def _delete(self, take_ids: list[str]) -> None:
        if take_ids:
            self._stand.do(DeleteTakes(tuple(take_ids)))
            if self.passages.take_id in take_ids:
                self.passages.clear()
                self._window.listener.show_waiting()
            self._window.messages.show_message(
                self.tr("Thrown away. Undo (Ctrl+Z) brings it back."), Tone.CALM
            )

    def _delete_chosen(self) -> None:
        on_days_page = self._window.page == "page_days"
        if on_days_page and (chosen := self._days_page.get().chosen_takes()):
            self._delete(chosen)
            return
        take_id = self._window.listener.chosen_take_id
        if take_id is None:
            self._window.messages.show_message(self.tr("Choose a take in the list first."))
        else:
            self._delete([take_id])

    def _take_menu(self, take_id: str, point: QPoint) -> None:
        menu = QMenu(self._window)
        by_heart = menu.addAction(self.tr("Pla&yed from memory"))
        by_heart.setCheckable(True)
        by_heart.setChecked(self._is_from_memory(take_id))
        by_heart.triggered.connect(lambda checked: self._mark_memory([take_id], checked))
        menu.addSeparator()
        for name in TAKE_MENU_ACTIONS:
            menu.addAction(self._window.actions_by_id[name])
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.popup(point)
