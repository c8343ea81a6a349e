"""The page of today: the plan made in a thread, ticked off as takes arrive, opened where it is."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import QFileDialog

from companion.desktop.last_asked import LastAsked
from companion.desktop.main_window import MainWindow
from companion.desktop.message_strip import Tone
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.stand import Stand
from companion.desktop.today.content import TodayContent
from companion.desktop.today.filling import (
    beats_of_sections,
    spot_lines,
    tempo_text,
    today_content,
)
from companion.desktop.today.page import TodayPage
from companion.desktop.today.wording import activity_name, place_name, tr
from companion.desktop.wiring.calendar import Calendar
from companion.desktop.wiring.tasks_wiring import TasksWiring
from companion.desktop.wiring.work_wiring import WorkWiring
from companion.errors import CompanionError
from companion.history.care import OVERUSE_CAUTION, STOPPED_FOR_TODAY, discomfort_entry
from companion.history.edits import ChangeDocument
from companion.history.knowing.rules import CLEAN_RULES
from companion.history.model import Entry
from companion.history.planning.model import Activity, PlannedTurn
from companion.history.spots import (
    SPOTS,
    Spot,
    spots_from,
    spots_to_text,
    with_spot,
    without_spot,
)
from companion.practice.plan_calendar import plan_as_calendar, save_calendar
from companion.practice.planning.document import (
    PLAN,
    PlanChoices,
    choices_to_text,
    text_to_choices,
)
from companion.practice.planning.done import ENTRY_KINDS, away_entry
from companion.practice.planning.situation import PlanAsked
from companion.practice.planning.today import Today, plan_today
from companion.score.model import Position

_GATHER_MS = 300  # several changes in a row make one plan
_DOCUMENTS = (PLAN, CLEAN_RULES)
_PAGE_OF = {
    Activity.GROUPS_AND_RHYTHMS: "page_grouping",
    Activity.RECITE: "page_harmony",
}


class TodayWiring(QObject):
    """Plans the day when its page is opened, and keeps it up to date while it is.

    Signals
    -------
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    broke = Signal(str, str)

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        score_view: ScoreView,
        work: WorkWiring,
        tasks: TasksWiring,
        calendar: Calendar,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        self._work = work
        self._tasks = tasks
        self._calendar = calendar
        self._today: Today | None = None
        self._next_when_planned = False
        self._care: tuple[str, ...] = ()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(_GATHER_MS)
        self._timer.timeout.connect(self._plan)
        self._planning = LastAsked(self)
        self._planning.answered.connect(self._planned)
        self._planning.failed.connect(window.messages.show_message)
        self._planning.broke.connect(self.broke)
        stand.piece_laid.connect(self._piece_laid)
        for signal in (
            stand.map_changed,
            stand.hands_changed,
            stand.takes_changed,
            stand.piece_changed,
            stand.entry_added,
            work.order_changed,
        ):
            signal.connect(self._ask)
        stand.document_changed.connect(self._document_changed)
        window.page_shown.connect(self._page_shown)
        window.actions_by_id["next_turn"].triggered.connect(self.next_turn)
        window.pages.late_today.when_built(self._page_built)

    @property
    def today(self) -> Today | None:
        """The plan as it was made last."""
        return self._today

    def asked(self) -> PlanAsked | None:
        """What is asked about the piece on the stand as it is now; None without one."""
        opened = self._stand.open_piece
        if opened is None or opened.score is None:
            return None
        choices, trouble = text_to_choices(self._stand.document(PLAN))
        if trouble:
            self._window.messages.show_message(trouble)
        return PlanAsked(
            piece_id=opened.piece.piece_id,
            basis=opened.basis,
            score=opened.score,
            section_map=self._stand.section_map,
            today=self._calendar.today,
            performance=opened.piece.performance_date,
            workload=self._work.workload,
            order=self._work.order,
            tasks=tuple(task for task in self._tasks.tasks.tasks if task.kept),
            choices=choices,
            day_starts_at_hour=self._calendar.day_starts_at_hour,
        )

    def use_calendar(self, calendar: Calendar) -> None:
        """Count days in this way from now on."""
        self._calendar = calendar
        self._ask()

    def results_changed(self) -> None:
        """Takes were worked out: tick off what they did."""
        self._ask()

    def show_care(self, lines: tuple[str, ...]) -> None:
        """Show sentences on breaks and playing time."""
        if lines != self._care:
            self._care = lines
            self._show()

    def close(self) -> None:
        """Wait for what is being planned."""
        self._timer.stop()
        self._planning.close()

    def _page_built(self, page: TodayPage) -> None:
        page.turn_chosen.connect(self._show_place)
        page.turn_opened.connect(self._open)
        page.done_by_hand.connect(self._done_by_hand)
        page.spot_opened.connect(self._show_spot)
        page.spot_removed.connect(self._remove_spot)
        page.calendar_asked.connect(self._ask_for_calendar)
        page.time_asked.connect(self._ask_for_time)
        page.discomfort_noted.connect(self._note_discomfort)
        page.discomfort_taken_back.connect(self._take_discomfort_back)
        self._show()

    # -- planning --------------------------------------------------------------------------------

    def _piece_laid(self) -> None:
        self._today = None
        self._window.pages.late_today.if_built(
            lambda page: page.show_content(TodayContent(waiting=True))
        )
        self._ask()

    def _document_changed(self, kind: str, _content: str) -> None:
        if kind in _DOCUMENTS:
            self._ask()
        elif kind == SPOTS:
            self._show()

    def _page_shown(self, name: str) -> None:
        if name == "page_today":
            self._ask()

    def _ask(self, *_: object) -> None:
        if self._window.page == "page_today":
            self._timer.start()

    def _plan(self) -> None:
        opened, history = self._stand.open_piece, self._stand.history
        if opened is None or opened.score is None:
            return
        if history is None:
            self._tell_without_history()
            return
        asked = self.asked()
        if asked is None:
            return
        entries: list[Entry] = []
        for kind in ENTRY_KINDS:
            entries.extend(self._stand.entries(kind))
        self._planning.ask(lambda _report: plan_today(history, asked, entries))

    def _planned(self, today: object) -> None:
        if isinstance(today, Today):
            self._today = today
            self._show()
            if self._next_when_planned:
                self._next_when_planned = False
                self.next_turn()

    def _tell_without_history(self) -> None:
        content = TodayContent(
            title=tr("Today"),
            headline=tr("Without a history there is nothing to plan from."),
        )
        self._window.pages.late_today.if_built(lambda page: page.show_content(content))

    # -- showing ---------------------------------------------------------------------------------

    def _show(self) -> None:
        today, score = self._today, self._stand.score
        if today is None or score is None:
            return
        beats = beats_of_sections(score, self._stand.section_map)
        content = today_content(
            today,
            beats,
            spots=spot_lines(
                spots_from(self._stand.document(SPOTS)),
                score,
                self._calendar.zone,
                self._calendar.today,
                self._calendar.day_starts_at_hour,
            ),
            care=(*self._care, tr(OVERUSE_CAUTION)),
        )
        self._window.pages.late_today.if_built(lambda page: page.show_content(content))

    def _turn(self, turn_id: str) -> PlannedTurn | None:
        turns = self._today.plan.turns if self._today is not None else ()
        return next((each.turn for each in turns if each.turn.turn_id == turn_id), None)

    def _show_place(self, turn_id: str) -> None:
        turn = self._turn(turn_id)
        if turn is None or not turn.place.section_ids:
            return
        sections = self._stand.section_map
        chosen = [name for name in turn.place.section_ids if name in sections]
        if not chosen:
            return
        first, last = sections.section(chosen[0]), sections.section(chosen[-1])
        if len(chosen) == 1:
            self._window.map_view.select(first.section_id)
        self._score_view.highlight_section(first.start, last.end)

    def _open(self, turn_id: str) -> None:
        turn = self._turn(turn_id)
        if turn is None:
            return
        self._show_place(turn_id)
        self._window.show_page(_PAGE_OF.get(turn.activity, "page_score"))
        sections = self._stand.section_map
        if turn.place.section_ids and turn.place.section_ids[0] in sections:
            start = sections.section(turn.place.section_ids[0]).start
            self._score_view.focus_measure(start.measure_index)
            if turn.activity is Activity.RECITE:
                self._window.pages.harmony.recite.choose_section(turn.place.section_ids[0])

    def next_turn(self) -> None:
        """Show what the plan has next, where it is done; from the piano too."""
        today = self._today
        turn = today.plan.next_turn if today is not None else None
        if today is None:
            self._next_when_planned = True
            self._plan()
        elif turn is None:
            self._window.messages.show_message(tr("All of today is done."), Tone.CALM)
        else:
            self._open(turn.turn_id)
            self._window.messages.show_message(self._turn_words(turn), Tone.CALM)

    def _turn_words(self, turn: PlannedTurn) -> str:
        score = self._stand.score
        beats = beats_of_sections(score, self._stand.section_map) if score is not None else {}
        parts = [activity_name(turn), place_name(turn), tempo_text(turn, beats)]
        parts.append(tr("{minutes} minutes").format(minutes=turn.minutes))
        return tr("Next: {what}. {why}").format(
            what=", ".join(part for part in parts if part), why=turn.why
        )

    def _ask_for_calendar(self) -> None:
        piece = self._stand.piece
        if piece is None or self._today is None:
            return
        name, _ = QFileDialog.getSaveFileName(
            self._window,
            tr("Export the days as a calendar"),
            f"{piece.title or 'practice'}.ics".replace("/", " "),
            "iCalendar (*.ics)",
        )
        if name:
            self.write_calendar(Path(name))

    def write_calendar(self, path: Path) -> None:
        """Write the days to the performance as an iCalendar file."""
        piece, today = self._stand.piece, self._today
        if piece is None or today is None:
            return
        content = plan_as_calendar(
            piece.title, piece.piece_id, today.schedule, datetime.now(UTC), today.plan.plan
        )
        try:
            save_calendar(path, content)
        except CompanionError as error:
            self._window.messages.show_message(str(error))
            return
        self._window.messages.show_message(
            tr("“{name}” was written.").format(name=path.name), Tone.CALM
        )

    # -- spots -----------------------------------------------------------------------------------

    def mark_spot(self, position: Position | None) -> None:
        """Remember a place of the piece."""
        piece, score = self._stand.piece, self._stand.score
        if piece is None or score is None:
            return
        if position is None or position.measure_index >= len(score.measures):
            self._window.messages.show_message(
                tr("Nothing is played that could be marked."), Tone.CALM
            )
            return
        spot = Spot(position=position, marked_at=datetime.now(UTC))
        self._change_spots(
            with_spot(spots_from(self._stand.document(SPOTS)), spot), tr("Mark spot")
        )
        number = score.measures[position.measure_index].number
        self._window.messages.show_message(
            tr("Measure {number} is marked.").format(number=number), Tone.CALM
        )

    def _remove_spot(self, measure_index: int) -> None:
        spots = spots_from(self._stand.document(SPOTS))
        self._change_spots(without_spot(spots, measure_index), tr("Take mark away"))

    def _change_spots(self, spots: tuple[Spot, ...], doing: str) -> None:
        piece, before, after = self._stand.piece, self._stand.document(SPOTS), spots_to_text(spots)
        if piece is not None and before != after:
            self._stand.do(ChangeDocument(piece.piece_id, SPOTS, before, after, doing))

    def _show_spot(self, measure_index: int) -> None:
        self._window.show_page("page_score")
        self._score_view.focus_measure(measure_index)

    # -- what the pianist says -------------------------------------------------------------------

    def _done_by_hand(self, turn_id: str) -> None:
        turn, piece = self._turn(turn_id), self._stand.piece
        if turn is not None and piece is not None:
            self._stand.add_entry(
                away_entry(turn, piece.piece_id, datetime.now(UTC), self._calendar.zone)
            )

    def _ask_for_time(self) -> None:
        from companion.desktop.today.time_dialog import TimeDialog

        if self._stand.piece is None:
            return
        choices, _ = text_to_choices(self._stand.document(PLAN))
        dialog = TimeDialog(choices, self._calendar.today, self._window)
        dialog.chosen.connect(self._time_chosen)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()

    def _time_chosen(self, choices: PlanChoices) -> None:
        piece, before = self._stand.piece, self._stand.document(PLAN)
        after = choices_to_text(choices)
        if piece is not None and before != after:
            doing = tr("Time and days off")
            self._stand.do(ChangeDocument(piece.piece_id, PLAN, before, after, doing))

    def _note_discomfort(self) -> None:
        self._stand.add_entry(discomfort_entry(datetime.now(UTC), self._calendar.zone))
        self._window.messages.show_message(tr(STOPPED_FOR_TODAY), Tone.CALM)

    def _take_discomfort_back(self) -> None:
        zone = self._calendar.zone
        self._stand.add_entry(discomfort_entry(datetime.now(UTC), zone, taken_back=True))
