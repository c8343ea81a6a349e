"""Which piece is on the stand: opening files, the shelf, the date of the performance."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from companion.desktop.dates import day_with_year
from companion.desktop.days_left import days_left_text
from companion.desktop.main_window import MainWindow
from companion.desktop.message_strip import Tone
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.stand import Stand
from companion.desktop.wiring.calendar import Calendar
from companion.desktop.wiring.shelving import Shelving
from companion.errors import CompanionError
from companion.history.model import Piece, new_id
from companion.practice.basis import results_basis
from companion.practice.opening import OpenPiece, put_on_shelf, score_path_of
from companion.score.engraving.model import EngravedPage, EngravingSummary, Layout

if TYPE_CHECKING:
    from companion.desktop.late_parts import Late
    from companion.desktop.opening import Opening
    from companion.desktop.pages.shelf_page import ShelfPage
    from companion.practice.kept import LoadedScore
    from companion.practice.loading import PreparedFile
    from companion.score.reading.part_choice import PartChoice
    from companion.score.sections.section_map import SectionMap


_FORM_WAITS_MS = 300  # somebody edits the map: asked again so much later


class ShelfWiring(QObject):
    """Brings pieces to the stand.

    Signals
    -------
    takes_dropped(list)
        MIDI files that were dropped while a piece is on the stand: they are taken for takes.
    opened(LoadedScore)
        A score was read and lies on the stand.
    proposed(SectionMap)
        The sections that the form of the piece on the stand suggests.
    loading_changed(bool)
        A score begins to be loaded, or all of it has come.
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    loading_changed = Signal(bool)
    takes_dropped = Signal(list)
    opened = Signal(object)
    proposed = Signal(object)
    broke = Signal(str, str)

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        score_view: ScoreView,
        opening: Late[Opening],
        *,
        calendar: Calendar,
        cache_folder: Path,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        self._shelf_page = window.pages.late_shelf
        self._opening = opening
        self._calendar = calendar
        self._cache_folder = cache_folder
        self._parts: tuple[PartChoice, ...] = ()
        self._path = ""
        self._layout = Layout()
        self._pages_are_there = False
        self._awaited: LoadedScore | None = None
        self._laid: LoadedScore | None = None
        self._form: tuple[LoadedScore, SectionMap] | None = None
        self._form_timer = QTimer(self)
        self._form_timer.setSingleShot(True)
        self._form_timer.setInterval(_FORM_WAITS_MS)
        self._form_timer.timeout.connect(self._take_form)
        self._shelving: Shelving | None = None
        if stand.history is not None:
            self._shelving = Shelving(stand.history, self)
            self._shelving.shelved.connect(self._shelved)
            self._shelving.failed.connect(self._not_shelved)
            self._shelving.broke.connect(self.broke)
        self._further_pages: Callable[[], None] = lambda: None
        self.map_in_use: Callable[[], bool] = lambda: False
        self.opened_otherwise: Callable[[str], bool] = lambda path: False
        self._shelf_timer = QTimer(self)
        self._shelf_timer.setSingleShot(True)
        self._shelf_timer.timeout.connect(self.show_shelf)
        opening.when_built(self._wire_opening)
        self._wire_window()
        stand.piece_changed.connect(self._piece_changed)
        stand.shelf_changed.connect(self.show_shelf)
        self._shelf_page.when_built(self._wire_page)

    def _wire_opening(self, opening: Opening) -> None:
        progress = self._window.progress
        opening.progressed.connect(progress.show_progress)
        opening.prepared.connect(self._prepared)
        opening.page_engraved.connect(self._page)
        opening.pages_finished.connect(self._pages_done)
        opening.score_read.connect(self.score_read)
        opening.form_found.connect(self._form_found)
        opening.failed.connect(self._failed)
        opening.cancelled.connect(self._cancelled)
        opening.ended.connect(progress.end)
        opening.ended.connect(self._nothing_more_comes)
        opening.ended.connect(lambda: self.loading_changed.emit(False))
        progress.cancel_asked.connect(opening.cancel)

    def _wire_window(self) -> None:
        self._window.files_dropped.connect(self._dropped)

    def _wire_page(self, page: ShelfPage) -> None:
        self.show_shelf()
        page.piece_chosen.connect(self.open_piece)
        page.removal_asked.connect(self._remove)
        page.date_written.connect(self._write_date)

    @property
    def parts(self) -> tuple[PartChoice, ...]:
        """The parts of the score on the stand that could be played."""
        return self._parts

    @property
    def today(self) -> date:
        """The practice day now."""
        return self._calendar.today

    def use_calendar(self, calendar: Calendar) -> None:
        """Count days in this way from now on."""
        self._calendar = calendar
        if self._stand.piece is not None:
            self._show_header(self._stand.piece)
        self.show_shelf()

    # opening

    def open_path(self, path: str, part: str | None = None) -> None:
        """Open a score file, or a packet with one."""
        if self.opened_otherwise(path):
            return
        self._path = path
        self._awaited = None
        self._pages_are_there = False
        self._window.messages.hide()
        self._window.progress.begin(self.tr("Opening {name}").format(name=Path(path).name))
        self.loading_changed.emit(True)
        self._opening.get().open(path, part, self._layout)

    def open_piece(self, piece_id: str) -> None:
        """Open a piece from the shelf."""
        history = self._stand.history
        piece = history.piece(piece_id) if history is not None else None
        if piece is None or history is None:
            return
        try:
            path = score_path_of(history, piece, self._cache_folder)
        except CompanionError as error:
            self._window.messages.show_message(str(error))
            return
        self.open_path(str(path), piece.part or None)

    def show_kept(self, loaded: LoadedScore, first_page: EngravedPage | None) -> None:
        """Show a score from the cache at once; its further pages follow when asked for."""
        self._path = loaded.read.path
        self._score_view.set_layout(self._layout)
        if first_page is not None:
            self._score_view.add_page(first_page)
            self._score_view.finish_page(first_page.index)
        score, history = loaded.read.score, self._stand.history
        self._parts = loaded.parts
        self._score_view.set_notes(score.notes, score.measures)
        # filed at once and here, so that the window opens with its piece
        opened = put_on_shelf(history, loaded.read) if history is not None else _unfiled(loaded)
        self._lay(loaded, opened)
        first = 0 if first_page is None else 1

        def bring_pages() -> None:
            opening = self._opening.get()
            if self._stand.score is score and not opening.loading:
                opening.bring_rest(loaded, self._layout, first)

        self._further_pages = bring_pages

    def bring_further_pages(self) -> None:
        """Bring the rest of the score of the start, now that its first page is painted."""
        self._further_pages()
        self._further_pages = lambda: None

    def _prepared(self, file: PreparedFile) -> None:
        self._parts = file.parts
        self._score_view.set_layout(self._layout)
        self._window.header.show_piece(file.title, "", "")
        if self._window.page != "page_score":
            self._window.show_page("page_score")

    def _page(self, page: EngravedPage) -> None:
        self._score_view.add_page(page)

    def _pages_done(self, _summary: EngravingSummary) -> None:
        self._pages_are_there = True
        self._score_view.finish_pages()

    def score_read(self, loaded: LoadedScore) -> None:
        """File a score that was read, then put it on the stand."""
        self._parts = loaded.parts
        self._awaited = loaded
        score = loaded.read.score
        self._score_view.set_notes(score.notes, score.measures)
        if self._shelving is None:
            self._lay(loaded, _unfiled(loaded))
        else:
            self._shelving.shelve(loaded)

    def lay_again(self) -> None:
        """File the piece on the stand once more: the history is another one."""
        if self._laid is not None and self._shelving is not None:
            self._awaited = self._laid
            self._shelving.shelve(self._laid)

    def _shelved(self, loaded: LoadedScore, opened: OpenPiece) -> None:
        if loaded is self._awaited:
            self._lay(loaded, opened)

    def _not_shelved(self, loaded: LoadedScore, sentence: str) -> None:
        self._window.messages.show_message(sentence)
        if loaded is self._awaited:
            self._lay(loaded, _unfiled(loaded))

    def _lay(self, loaded: LoadedScore, opened: OpenPiece) -> None:
        self._awaited = None
        self._laid = loaded
        section_map = opened.section_map
        preliminary = section_map is None and not loaded.form_known
        self._stand.lay(opened, section_map or loaded.proposal, preliminary=preliminary)
        self._window.enable_piece_actions(True)
        self._window.actions_by_id["choose_part"].setEnabled(len(self._parts) > 1)
        self._show_header(opened.piece)
        self.opened.emit(loaded)
        self._take_form()
        self._nothing_more_comes()
        self._tell_remarks(loaded)
        self._shelf_timer.start()

    def _form_found(self, loaded: LoadedScore, sections: SectionMap) -> None:
        self._form = (loaded, sections)
        self._take_form()

    def _take_form(self) -> None:
        """Show the sections of the form as soon as their score is filed and nobody edits."""
        if self._form is None or self._form[0] is not self._laid:
            return  # not filed yet, or another score was opened meanwhile
        if self.map_in_use():
            self._form_timer.start()
            return
        (loaded, sections), self._form = self._form, None
        self._laid = replace(loaded, proposal=sections, form_known=True)
        self._stand.propose(sections)
        self.proposed.emit(sections)

    def _nothing_more_comes(self) -> None:
        """Content itself with the preliminary sections where the search for better ones ended."""
        if self._form is None and self._opening.built and not self._opening.get().loading:
            self._stand.settle_map()

    def _tell_remarks(self, loaded: LoadedScore) -> None:
        remarks = list(loaded.read.score.remarks)
        if len(self._parts) > 1 and not loaded.read.part:
            if not remarks:
                count = len(self._parts)
                remarks.append(self.tr("This score has {count} parts.").format(count=count))
            remarks.append(self.tr("Piece → Choose the part… takes another."))
        if remarks:
            self._window.messages.show_message(" ".join(remarks), Tone.CALM)

    def _failed(self, sentence: str) -> None:
        self._window.messages.show_message(sentence)
        self._show_what_is_there()

    def _cancelled(self) -> None:
        sentence = self.tr("Opening was cancelled.")
        if self._pages_are_there and self._stand.map_is_preliminary:
            sentence = self.tr(
                "The search for the form was stopped: the sections are those that the printed "
                "signs suggest."
            )
        self._window.messages.show_message(sentence, Tone.CALM)
        self._show_what_is_there()

    def _show_what_is_there(self) -> None:
        piece = self._stand.piece
        if piece is None:
            self._window.header.show_piece("", "", "")
            self._score_view.clear(self.tr("Open a score, or drop a score file on this window."))
        else:
            self._show_header(piece)

    def close(self) -> None:
        """Wait for what is being filed with the history."""
        self._further_pages = lambda: None
        self._awaited = None
        self._form = None
        self._form_timer.stop()
        self._shelf_timer.stop()
        if self._shelving is not None:
            self._shelving.close()

    def open_other_part(self, part_id: str) -> None:
        """Open the same file again with another part."""
        self.open_path(self._path, part_id)

    def _dropped(self, paths: list[str]) -> None:
        from companion.practice.dropped import sort_dropped

        others = [path for path in paths if not self.opened_otherwise(path)]
        if not others:
            return
        dropped = sort_dropped(others, piece_on_stand=self._stand.piece is not None)
        if dropped.score is not None:
            self.open_path(str(dropped.score))
        if dropped.takes:
            self.takes_dropped.emit([str(path) for path in dropped.takes])
        if dropped.sentence:
            self._window.messages.show_message(dropped.sentence)

    # the date

    def _write_date(self, piece_id: str, day: date | None) -> None:
        history = self._stand.history
        piece = history.piece(piece_id) if history is not None else None
        if piece is not None:
            self._stand.set_performance_date(piece, day)

    def _piece_changed(self, piece: Piece | None) -> None:
        if piece is not None:
            self._show_header(piece)
        self.show_shelf()

    def _show_header(self, piece: Piece) -> None:
        text = ""
        if piece.performance_date is not None:
            day = piece.performance_date
            left = (day - self._calendar.today).days
            text = f"{day_with_year(day)}: {days_left_text(left)}"
        self._window.header.show_piece(piece.title, piece.composer, text)
        self._window.setWindowTitle(f"{piece.title} – {self.tr('Companion')}")

    # the shelf

    def show_shelf(self) -> None:
        """Show the pieces as they stand on the shelf now."""
        history = self._stand.history
        if history is not None:
            self._shelf_page.if_built(
                lambda page: page.show_pieces(history.shelf(), self._calendar.today)
            )

    def _remove(self, piece_id: str) -> None:
        history = self._stand.history
        if history is None:
            return
        self._stand.take_off_shelf(piece_id)
        self._window.messages.show_message(
            self.tr(
                "Taken off the shelf; its takes and sections are kept. Undo (Ctrl+Z) puts it back."
            ),
            Tone.CALM,
        )


def _unfiled(loaded: LoadedScore) -> OpenPiece:
    """A piece that no history knows: it lasts until the window is closed."""
    score = loaded.read.score
    return OpenPiece(
        piece=Piece(
            piece_id=new_id(),
            title=score.title,
            composer=score.composer,
            score_hash=loaded.read.score_hash,
            score_path=loaded.read.path,
            part=loaded.read.part,
        ),
        score=score,
        hands={},
        basis=results_basis(score, {}),
        section_map=None,
        view="",
        as_read=score,
    )
