"""The page of the harmony: filled, and naming key and chord at places that are drawn."""

from __future__ import annotations

from datetime import UTC, datetime
from random import Random

from PySide6.QtCore import QObject, QTimer

from companion.analysis.harmony import HarmonySpan
from companion.analysis.recitation import (
    Answer,
    Judgement,
    accepted_readings,
    ask,
    judge,
    read_answer,
)
from companion.desktop.harmony.content import AnswerShown, QuestionShown
from companion.desktop.harmony.filling import fill, limits_of
from companion.desktop.harmony.page import HarmonyPage
from companion.desktop.harmony.wording import chord_name, part_names, place_name, share_text
from companion.desktop.listener_panel.note_names import key_name
from companion.desktop.main_window import MainWindow
from companion.desktop.piano import Piano
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.stand import Stand
from companion.desktop.wiring.calendar import Calendar
from companion.desktop.wiring.harmony_wiring import HarmonyWiring
from companion.history.model import new_id
from companion.history.recited import RECITED, Recited, entry_of, recited_of

_HELD_MS = 700  # a chord that stays down so long is meant as an answer
_LEAST_KEYS = 3


class RecitingWiring(QObject):
    """Asks, judges, keeps."""

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        score_view: ScoreView,
        harmony: HarmonyWiring,
        piano: Piano,
        calendar: Calendar,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        self._harmony = harmony
        self._piano = piano
        self._calendar = calendar
        self._random = Random()
        self._places: list[HarmonySpan] = []
        self._asked = 0
        self._judged: list[Judgement] = []
        self._held: set[int] = set()
        self._held_timer = QTimer(self)
        self._held_timer.setSingleShot(True)
        self._held_timer.setInterval(_HELD_MS)
        self._held_timer.timeout.connect(self._chord_held)
        harmony.changed.connect(self._refill)
        stand.map_changed.connect(self._refill)
        stand.piece_laid.connect(self._piece_laid)
        piano.keys_changed.connect(self._keys_changed)
        window.page_shown.connect(self._page_shown)
        window.pages.late_harmony.when_built(self._page_built)

    def use_calendar(self, calendar: Calendar) -> None:
        """Count days in this way from now on."""
        self._calendar = calendar
        self._refill()

    def _page_built(self, page: HarmonyPage) -> None:
        page.measure_chosen.connect(self._show_measure)
        page.section_chosen.connect(page.recite.choose_section)
        panel = page.recite
        panel.begun.connect(self._begin)
        panel.answered.connect(self._answer)
        panel.passed.connect(self._pass)
        panel.next_asked.connect(self._next)
        panel.ended.connect(self._end)
        panel.score_toggled.connect(self._show_notes)
        self._refill()

    @property
    def _page(self) -> HarmonyPage:
        return self._window.pages.harmony

    # -- the page --------------------------------------------------------------------------------

    def _piece_laid(self) -> None:
        if self._places:
            self._end()
        self._refill()

    def _refill(self) -> None:
        score = self._stand.score
        if self._window.page != "page_harmony" or score is None:
            return  # filled when the page is opened: it takes a moment for a long piece
        self._page.show_content(
            fill(
                score,
                self._stand.section_map,
                self._harmony.harmony,
                self._answers(),
                self._calendar.day_starts_at_hour,
            )
        )

    def _answers(self) -> tuple[Recited, ...]:
        found = (recited_of(entry) for entry in self._stand.entries(RECITED))
        return tuple(each for each in found if each is not None)

    def _show_measure(self, measure_index: int) -> None:
        self._window.show_page("page_score")
        self._score_view.focus_measure(measure_index)

    # -- asking ----------------------------------------------------------------------------------

    def _begin(self, section_id: str, count: int) -> None:
        score, harmony = self._stand.score, self._harmony.harmony
        if score is None or harmony is None:
            return
        start, end = score.measures[0].start_quarters, score.end_quarters
        if section_id and section_id in self._stand.section_map:
            start, end = limits_of(score, self._stand.section_map.section(section_id))
        self._places = list(ask(harmony, start, end, count, self._random))
        self._asked = 0
        self._judged = []
        if not self._places:
            self._page.recite.show_summary(self.tr("There is no chord here that could be asked."))
            return
        self._piano.set_aside(True)
        self._show_question()

    def _show_question(self) -> None:
        score, span = self._stand.score, self._places[self._asked]
        if score is None:
            return
        section = self._stand.section_map.section_at(span.position)
        panel = self._page.recite
        panel.show_question(
            QuestionShown(
                number=self._asked + 1,
                count=len(self._places),
                place=place_name(score, span),
                section=section.name if section is not None else "",
            )
        )
        self._show_notes(panel.notes_wanted)

    def _show_notes(self, shown: bool) -> None:
        panel = self._page.recite
        if shown and self._asked < len(self._places):
            place = self._places[self._asked].position
            panel.show_picture(
                self._score_view.picture_of(
                    place.measure_index,
                    float(place.offset_quarters),
                    max(panel.width(), 1),
                )
            )
        else:
            panel.show_picture(None)

    def _answer(self, text: str) -> None:
        span = self._places[self._asked]
        answer = read_answer(text, span.key)
        if answer is None or (answer.chord is None and answer.key is None):
            self._page.recite.show_heard(
                self.tr("This is not understood. Write for example “d: iv6” or “G: V7”.")
            )
            return
        self._judge(answer, text)

    def _pass(self) -> None:
        self._judge(Answer(), "")

    def _judge(self, answer: Answer, text: str) -> None:
        span, piece = self._places[self._asked], self._stand.piece
        if piece is None:
            return
        judgement = judge(span, answer)
        gave_up = not text
        parts = (False, False, False, False) if gave_up else judgement.parts
        self._judged.append(judgement)
        recited = Recited(
            entry_id=new_id(),
            piece_id=piece.piece_id,
            happened_at=datetime.now(UTC),
            zone=self._calendar.zone,
            start_quarters=span.start_quarters,
            parts=parts,
            answer=text,
            with_score=self._page.recite.notes_wanted,
        )
        self._stand.add_entry(entry_of(recited))
        others = [r for r in accepted_readings(span) if r != judgement.reading]
        self._page.recite.show_answer(
            AnswerShown(
                parts=tuple(zip(part_names(), judgement.parts, strict=True)),
                reading=chord_name(judgement.reading),
                alternatives=tuple(chord_name(reading) for reading in others),
                right=self._right,
                asked=len(self._judged),
                is_last=self._asked + 1 == len(self._places),
            )
        )

    @property
    def _right(self) -> int:
        return sum(judgement.all_right for judgement in self._judged)

    def _next(self) -> None:
        self._asked += 1
        if self._asked < len(self._places):
            self._show_question()
        else:
            self._end()

    def _end(self) -> None:
        share = share_text(self._right, len(self._judged))
        self._places = []
        self._piano.set_aside(False)
        self._page.recite.show_picture(None)
        self._page.recite.show_summary(
            self.tr("{share} named all right.").format(share=share) if share else ""
        )
        self._refill()

    # -- chords on the piano ---------------------------------------------------------------------

    def _page_shown(self, name: str) -> None:
        """Fill the page; who leaves it while asked is heard as playing again."""
        if name == "page_harmony":
            self._refill()
        if self._places:
            self._piano.set_aside(name == "page_harmony")

    def _keys_changed(self, down: set[int]) -> None:
        if not self._places or not self._page.recite.asking:
            return
        self._held = set(down)
        if len(down) >= _LEAST_KEYS:
            self._page.recite.show_heard(self._names(down))
            self._held_timer.start()
        else:
            self._held_timer.stop()

    def _chord_held(self) -> None:
        if self._places and self._page.recite.asking and len(self._held) >= _LEAST_KEYS:
            self._judge(Answer(keys_played=tuple(sorted(self._held))), self._names(self._held))

    def _names(self, keys: set[int]) -> str:
        score = self._stand.score
        if score is None or not self._places:
            return ""
        measure = score.measures[self._places[self._asked].position.measure_index]
        return "  ".join(key_name(key, measure.key_fifths) for key in sorted(keys))
