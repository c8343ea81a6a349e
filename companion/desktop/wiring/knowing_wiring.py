"""Since when the sections of the piece on the stand are known, and by which rules."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from companion.desktop.days.page import DaysPage
from companion.desktop.knowing.content import KnowingContent
from companion.desktop.knowing.filling import knowing_content
from companion.desktop.knowing.rules_dialog import RulesDialog
from companion.desktop.main_window import MainWindow
from companion.desktop.stand import Stand
from companion.desktop.wiring.shown_history import MapShown, ShownHistory
from companion.desktop.wiring.work_wiring import WorkWiring
from companion.history.edits import ChangeDocument
from companion.history.knowing.clean import Thresholds
from companion.history.knowing.rules import CLEAN_RULES, rules_from_text, rules_to_text
from companion.history.knowing.standing import PieceStanding
from companion.history.model import Piece
from companion.practice.opening import OpenPiece
from companion.practice.workload import WORK_ORDER, text_to_order


class KnowingWiring(QObject):
    """Holds how the piece on the stand stands.

    Signals
    -------
    standing_known(PieceStanding)
        How its sections and tasks stand was worked out anew.
    """

    standing_known = Signal(object)

    def __init__(
        self, window: MainWindow, stand: Stand, reader: ShownHistory, work: WorkWiring
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._reader = reader
        self._work = work
        self._shown: MapShown | None = None
        self._content = KnowingContent()
        self._days_page = window.pages.late_days
        reader.map_ready.connect(self._map_ready)
        work.order_changed.connect(self._fill)
        stand.piece_laid.connect(self._piece_laid)
        stand.piece_changed.connect(self._piece_changed)
        stand.document_changed.connect(self._document_changed)
        window.actions_by_id["clean_rules"].triggered.connect(self.ask_for_rules)
        self._days_page.when_built(self._wire_days_page)

    @property
    def standing(self) -> PieceStanding | None:
        """How the piece stands; None until it was read."""
        return self._shown.known if self._shown is not None else None

    @property
    def hardness(self) -> dict[str, float] | None:
        """How hard the sections are, by id; None while the workload is unknown."""
        return self._hardness(by_teacher=bool(text_to_order(self._stand.document(WORK_ORDER))))

    def ask_for_rules(self) -> None:
        """Let the pianist change the rules of the piece."""
        if self._stand.piece is None:
            return
        rules, sentence = rules_from_text(self._stand.document(CLEAN_RULES))
        if sentence:
            self._window.messages.show_message(sentence)
        dialog = RulesDialog(rules, self._window)
        dialog.rules_chosen.connect(self._change_rules)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()

    # internal

    def _wire_days_page(self, page: DaysPage) -> None:
        page.knowing.rules_asked.connect(self.ask_for_rules)
        page.all_takes_asked.connect(self._show_all_takes)
        page.knowing.show_content(self._content)

    def _piece_laid(self, _opened: OpenPiece) -> None:
        self._shown = None
        self._show(KnowingContent())

    def _map_ready(self, shown: MapShown) -> None:
        piece = self._stand.piece
        if piece is None or shown.question.piece_id != piece.piece_id:
            return
        self._shown = shown
        self._fill()
        self.standing_known.emit(shown.known)

    def _fill(self) -> None:
        shown = self._shown
        if shown is None:
            return
        order = text_to_order(self._stand.document(WORK_ORDER))
        self._show(
            knowing_content(
                shown.known,
                shown.question.section_map,
                shown.question.score.measures,
                tasks=[task.as_section for task in shown.question.tasks if task.kept],
                hardness=self._hardness(by_teacher=bool(order)),
                by_teacher=bool(order),
            )
        )

    def _hardness(self, *, by_teacher: bool) -> dict[str, float] | None:
        """How hard the sections are, by id: as the teacher ordered them, else as estimated."""
        workload = self._work.workload
        if workload is None:
            return None
        if by_teacher:
            return {section_id: -float(place) for place, section_id in enumerate(self._work.order)}
        return {section.section_id: section.level for section in workload.sections}

    def _show(self, content: KnowingContent) -> None:
        self._content = content
        self._days_page.if_built(lambda page: page.knowing.show_content(content))

    def _change_rules(self, rules: Thresholds) -> None:
        piece, before = self._stand.piece, self._stand.document(CLEAN_RULES)
        after = rules_to_text(rules)
        if piece is not None and before != after:
            self._stand.do(
                ChangeDocument(
                    piece.piece_id, CLEAN_RULES, before, after, self.tr("Rules of this piece")
                )
            )

    def _piece_changed(self, _piece: Piece) -> None:
        self._ask_again()  # the date of the performance caps the returns

    def _document_changed(self, kind: str, _content: str) -> None:
        if kind == CLEAN_RULES:
            self._ask_again()

    def _show_all_takes(self) -> None:
        if self._shown is not None:
            self._reader.want_all_takes(self._shown.question.piece_id)
            self._ask_again()

    def _ask_again(self) -> None:
        if self._shown is not None:
            self._reader.ask(self._shown.question)
