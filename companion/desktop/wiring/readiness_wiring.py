"""The page of the readiness: estimated in a thread, checked by what is played and named."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from random import SystemRandom

from PySide6.QtCore import QObject, QTimer, Signal

from companion.analysis.harmony import HarmonySpan
from companion.analysis.recitation import judge, read_answer
from companion.desktop.harmony.filling import limits_of
from companion.desktop.last_asked import LastAsked
from companion.desktop.main_window import MainWindow
from companion.desktop.readiness.content import ReadinessContent
from companion.desktop.readiness.filling import (
    check_over,
    named_chords,
    readiness_content,
    step_shown,
)
from companion.desktop.readiness.page import ReadinessPage
from companion.desktop.readiness.wording import tr
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.stand import Stand
from companion.desktop.wiring.calendar import Calendar
from companion.desktop.wiring.harmony_wiring import HarmonyWiring
from companion.desktop.wiring.today_wiring import TodayWiring
from companion.history.edits import MarkMemory
from companion.history.knowing.rules import CLEAN_RULES
from companion.history.model import Take, new_id
from companion.history.readiness.check import Check, answer, hear, skip
from companion.history.readiness.check_record import (
    READINESS_CHECK,
    CheckRecord,
    entry_of,
    record_of,
    record_of_check,
)
from companion.history.readiness.check_steps import CheckKind
from companion.history.recited import RECITED, recited_of
from companion.practice.planning.document import PLAN
from companion.practice.readiness.checking import begin_check, check_take
from companion.practice.readiness.estimate import PieceReadiness, piece_readiness
from companion.practice.results import WorkedOut
from companion.score.model import Position

_GATHER_MS = 300
_MOST_SEED = 2**31


class ReadinessWiring(QObject):
    """Answers "am I ready?" and leads through a check.

    Signals
    -------
    rehearsal_toggled(bool)
        Whether nothing shall be shown while playing.
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    rehearsal_toggled = Signal(bool)
    broke = Signal(str, str)

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        score_view: ScoreView,
        today: TodayWiring,
        harmony: HarmonyWiring,
        calendar: Calendar,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        self._today = today
        self._harmony = harmony
        self._calendar = calendar
        self._found: PieceReadiness | None = None
        self._check: Check | None = None
        self._began_at: datetime | None = None
        self._prompted_at: datetime | None = None
        self._keep_when_estimated: Check | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(_GATHER_MS)
        self._timer.timeout.connect(self._estimate)
        self._estimating = LastAsked(self)
        self._estimating.answered.connect(self._estimated)
        self._estimating.failed.connect(window.messages.show_message)
        self._estimating.broke.connect(self.broke)
        stand.piece_laid.connect(self._piece_laid)
        for signal in (stand.map_changed, stand.hands_changed, stand.takes_changed):
            signal.connect(self._ask)
        stand.document_changed.connect(self._document_changed)
        window.page_shown.connect(self._page_shown)
        window.pages.late_readiness.when_built(self._page_built)

    @property
    def found(self) -> PieceReadiness | None:
        """The estimate as it was made last."""
        return self._found

    @property
    def check(self) -> Check | None:
        """The check that is going on; None without one."""
        return self._check

    def use_calendar(self, calendar: Calendar) -> None:
        """Count days in this way from now on."""
        self._calendar = calendar
        self._ask()

    def results_changed(self) -> None:
        """Takes were worked out."""
        self._ask()

    def close(self) -> None:
        """Wait for what is being estimated."""
        self._timer.stop()
        self._estimating.close()

    def _page_built(self, page: ReadinessPage) -> None:
        page.section_chosen.connect(self._choose_section)
        panel = page.check
        panel.begun.connect(self._begin)
        panel.left_out.connect(self._leave_out)
        panel.ended.connect(self._end)
        panel.answered.connect(self._answer)
        panel.rehearsal_toggled.connect(self.rehearsal_toggled)
        self._show()

    # -- the estimate ----------------------------------------------------------------------------

    def _piece_laid(self) -> None:
        self._found = self._check = self._keep_when_estimated = None
        self._with_page(lambda page: page.show_content(ReadinessContent(waiting=True)))
        self._with_page(lambda page: page.check.show_idle())
        self._ask()

    def _document_changed(self, kind: str, _content: str) -> None:
        if kind in (CLEAN_RULES, PLAN):
            self._ask()

    def _page_shown(self, name: str) -> None:
        if name == "page_readiness":
            self._ask()

    def _ask(self, *_: object) -> None:
        if self._window.page == "page_readiness":
            self._timer.start()

    def _estimate(self) -> None:
        asked, history = self._today.asked(), self._stand.history
        if asked is None:
            return
        if history is None:
            told = (tr("Without a history nothing can be told."),)
            self._with_page(lambda page: page.show_content(ReadinessContent(sentences=told)))
            return
        self._estimating.ask(lambda _report: piece_readiness(history, asked))

    def _estimated(self, found: object) -> None:
        if isinstance(found, PieceReadiness):
            self._found = found
            self._keep_check(found)
            self._show()

    def _show(self) -> None:
        found, score = self._found, self._stand.score
        if found is None or score is None:
            return
        limits = {
            section.section_id: limits_of(score, section)
            for section in self._stand.section_map.sections
        }
        answers = (recited_of(entry) for entry in self._stand.entries(RECITED))
        content = readiness_content(
            found,
            self._records(),
            self._calendar.day_starts_at_hour,
            named_chords((each for each in answers if each is not None), limits),
        )
        self._with_page(lambda page: page.show_content(content))

    def _records(self) -> tuple[CheckRecord, ...]:
        found = (record_of(entry) for entry in self._stand.entries(READINESS_CHECK))
        return tuple(record for record in found if record is not None)

    def _with_page(self, act: Callable[[ReadinessPage], object]) -> None:
        self._window.pages.late_readiness.if_built(act)

    def _choose_section(self, section_id: str) -> None:
        sections = self._stand.section_map
        if section_id in sections:
            section = sections.section(section_id)
            self._window.map_view.select(section_id)
            self._score_view.highlight_section(section.start, section.end)

    # -- the check -------------------------------------------------------------------------------

    def _begin(self) -> None:
        asked = self._today.asked()
        if asked is None:
            return
        cold = self._found is not None and self._found.cold_today
        seed = SystemRandom().randrange(_MOST_SEED)
        self._check = begin_check(
            asked, seed, cold=cold, with_harmony=self._harmony.harmony is not None
        )
        self._began_at = datetime.now(UTC)
        if self._check.next_step is None:
            self._check = None
            self._with_page(
                lambda page: page.check.show_trouble(tr("The piece has no sections yet."))
            )
            return
        self._show_step()

    def take_played(self, take: Take, worked: WorkedOut) -> None:
        """Lay a take upon the open step, once it is worked out."""
        check, asked = self._check, self._today.asked()
        if check is None or asked is None or asked.piece_id != take.piece_id:
            return
        # from the score it takes time to find a place; from memory that is what is asked
        prompted_at = self._prompted_at if asked.choices.from_memory else None
        heard = check_take(asked, take, worked, prompted_at)
        after = hear(check, heard) if heard is not None else check
        step = check.next_step
        if after is not check and step is not None and step.kind is CheckKind.MEMORY:
            self._mark_memory(take)
        if after is check:
            self._with_page(
                lambda page: page.check.show_trouble(
                    tr("This take was not what is asked here; it is kept as any other.")
                )
            )
            return
        self._go_on(after)

    def _mark_memory(self, take: Take) -> None:
        if not take.from_memory:
            self._stand.do(MarkMemory((take.take_id,), from_memory=True))

    def _leave_out(self) -> None:
        if self._check is not None:
            self._go_on(skip(self._check))

    def _answer(self, text: str) -> None:
        check, span = self._check, self._asked_span()
        if check is None:
            return
        if span is None:
            self._go_on(skip(check))
            return
        given = read_answer(text, span.key)
        if given is None or (given.chord is None and given.key is None):
            trouble = tr("This is not understood. Write for example “d: iv6” or “G: V7”.")
            self._with_page(lambda page: page.check.show_trouble(trouble))
            return
        self._go_on(answer(check, new_id(), right=judge(span, given).all_right, given=text))

    def _asked_span(self) -> HarmonySpan | None:
        """The chord at the place of the open step."""
        check, score, harmony = self._check, self._stand.score, self._harmony.harmony
        step = check.next_step if check is not None else None
        if step is None or step.measure_index is None or score is None or harmony is None:
            return None
        at = score.quarters_at(Position(step.measure_index))
        for span in harmony.spans:
            if span.start_quarters <= at < span.end_quarters:
                return span
        return None

    def _go_on(self, after: Check) -> None:
        self._check = after
        if after.finished:
            self._end()
        else:
            self._show_step()

    def _show_step(self) -> None:
        check = self._check
        shown = step_shown(check) if check is not None else None
        if shown is None:
            return
        self._prompted_at = datetime.now(UTC)
        self._with_page(lambda page: page.check.show_step(shown))

    def _end(self) -> None:
        check, self._check = self._check, None
        if check is None:
            return
        over = check_over(check)
        self._with_page(lambda page: page.check.show_over(over))
        if any(result.passed is not None for result in check.results):
            self._keep_when_estimated = check
            self._estimate()

    def _keep_check(self, found: PieceReadiness) -> None:
        """Keep a check that has ended, with the estimate that has its takes in it."""
        check, self._keep_when_estimated = self._keep_when_estimated, None
        piece = self._stand.piece
        if check is None or piece is None:
            return
        record = record_of_check(
            check,
            found.readiness,
            entry_id=new_id(),
            piece_id=piece.piece_id,
            happened_at=self._began_at or datetime.now(UTC),
            zone=self._calendar.zone,
        )
        self._stand.add_entry(entry_of(record))
