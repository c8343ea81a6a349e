"""With which piece a take is filed: recognised when it is over, or said by the pianist."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from companion.desktop.choice_dialog import Choice, ChoiceDialog
from companion.desktop.message_strip import Tone
from companion.desktop.thread_jobs import ThreadJob
from companion.errors import CompanionError
from companion.history.edits import DeleteTakes, MoveTake, SeveralEdits

if TYPE_CHECKING:
    from collections.abc import Mapping

    from companion.desktop.main_window import MainWindow
    from companion.desktop.pages.shelf_page import ShelfPage
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.takes_wiring import TakesWiring
    from companion.history.model import Piece, Take
    from companion.practice.shelf_listening import Filing, ListeningShelf
    from companion.progress import Report

_WAIT_SECONDS = 5.0
_NOT_FILED = ""


class FilingWiring(QObject):
    """Files takes with pieces, undoably.

    Signals
    -------
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    broke = Signal(str, str)

    def __init__(
        self, window: MainWindow, stand: Stand, takes: TakesWiring, cache_folder: Path
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._takes = takes
        self._cache_folder = cache_folder
        self._shelf: ListeningShelf | None = None
        self._waiting: list[str | None] = []
        self._job: ThreadJob | None = None
        self._closing = False
        window.pages.late_shelf.when_built(self._wire_shelf)
        window.pages.late_days.when_built(lambda page: page.takes_moved.connect(self.ask_for_piece))
        window.actions_by_id["move_take"].triggered.connect(self._move_chosen)
        stand.takes_changed.connect(self.show_unfiled)
        stand.with_piece(self._piece_laid)

    def _wire_shelf(self, page: ShelfPage) -> None:
        page.unfiled.filing_asked.connect(self.ask_for_piece)
        page.unfiled.deletion_asked.connect(self._delete)
        self.show_unfiled()

    # by itself

    def take_saved(self, take: Take) -> None:
        """Find out where a take belongs that has just reached the disk."""
        self._look_at(take.take_id)

    def _piece_laid(self, *_: object) -> None:
        history = self._stand.history
        if history is not None and history.takes_of(None):
            self._look_at(None)

    def _look_at(self, take_id: str | None) -> None:
        """Look at a take, None for all that are not filed yet; one after the other."""
        if take_id not in self._waiting:
            self._waiting.append(take_id)
        self._next()

    def _next(self) -> None:
        history = self._stand.history
        if self._job is not None or not self._waiting or history is None or self._closing:
            return
        take_id = self._waiting.pop(0)
        known, cache_folder = self._shelf, self._cache_folder

        def work(report: Report) -> tuple[ListeningShelf, tuple[Filing, ...]]:
            from companion.practice.shelf_listening import (
                file_waiting_takes,
                listening_shelf,
                who_is_it,
            )

            shelf = listening_shelf(history, cache_folder, known, report)
            if take_id is None:
                return shelf, file_waiting_takes(history, shelf.index, report)
            take = history.take(take_id)
            if take is None or take.deleted_at is not None:
                return shelf, ()
            filing = who_is_it(shelf.index, take)
            return shelf, (filing,) if filing.moves else ()

        job = ThreadJob(work, self)
        self._job = job
        job.succeeded.connect(self._found)
        job.broke.connect(self.broke)
        job.when_over(self._ended)
        job.start()

    def _found(self, found: tuple[ListeningShelf, tuple[Filing, ...]]) -> None:
        from companion.practice.shelf_listening import filing_edit

        self._shelf, filings = found
        edits = [edit for filing in filings if (edit := filing_edit(filing)) is not None]
        if self._closing or not edits:
            return
        self._stand.do(edits[0] if len(edits) == 1 else SeveralEdits(tuple(edits), "File takes"))
        self._tell(
            {edit.take_id: edit.after_piece_id for edit in edits},
            {filing.piece_id: filing.same_music for filing in filings if filing.piece_id},
        )
        self._takes.bring_up_to_date()

    def _ended(self) -> None:
        job, self._job = self._job, None
        if job is not None:
            job.discard()
        self._next()

    def _tell(
        self, filed: dict[str, str | None], same_music: Mapping[str, tuple[str, ...]] | None = None
    ) -> None:
        """Say where takes were filed, and which other pieces hold the same music."""
        doubtful: list[str] = []
        sentences = []
        for piece_id, count in Counter(filed.values()).items():
            if piece_id is None:
                sentences.append(
                    self.tr(
                        "The take fits no piece on the shelf; it is kept on the page of the "
                        "shelf until it is filed."
                    )
                )
            elif count == 1:
                sentences.append(
                    self.tr("The take belongs to “{title}” and was filed there.").format(
                        title=self._title(piece_id)
                    )
                )
            else:
                sentences.append(
                    self.tr("{count} takes belong to “{title}” and were filed there.").format(
                        count=count, title=self._title(piece_id)
                    )
                )
        for piece_id, others in (same_music or {}).items():
            takes = [take_id for take_id, filed_with in filed.items() if filed_with == piece_id]
            titles = [f"“{title}”" for title in map(self._title, others) if title]
            if takes and titles:
                doubtful += takes
                sentences.append(
                    self.tr(
                        "The same music stands in {titles}: which of them was played cannot be "
                        "told from the keys."
                    ).format(titles=", ".join(titles))
                )
        sentences.append(self.tr("Undo (Ctrl+Z) takes it back."))
        self._window.messages.show_message(
            " ".join(sentences),
            Tone.CALM,
            self.tr("Choose the piece…") if doubtful else "",
            (lambda: self._ask_again(doubtful)) if doubtful else None,
        )

    def _title(self, piece_id: str) -> str:
        history = self._stand.history
        piece = history.piece(piece_id) if history is not None else None
        return piece.title if piece is not None else ""

    # by hand

    def show_unfiled(self) -> None:
        """List the takes that are not filed."""
        history = self._stand.history
        if history is None or not self._window.pages.late_shelf.built:
            return
        try:
            takes = history.takes_of(None)
        except CompanionError as error:  # a damage deep in the file is met here first
            self._window.messages.show_message(str(error))
        else:
            self._window.pages.shelf.unfiled.show_takes(takes)

    def ask_for_piece(self, take_ids: list[str]) -> ChoiceDialog | None:
        """Ask with which piece takes shall be filed."""
        history = self._stand.history
        if history is None or not take_ids:
            return None
        current, same = self._where_filed(take_ids)
        choices = [
            Choice(key=piece.piece_id, text=self._choice_words(piece, same))
            # what holds the same music comes first
            for piece in sorted(history.shelf(), key=lambda piece: piece.piece_id not in same)
        ]
        choices.append(Choice(key=_NOT_FILED, text=self.tr("No piece: not filed yet")))
        dialog = ChoiceDialog(
            self.tr("Move takes"),
            self.tr("To which piece does it belong?")
            if len(take_ids) == 1
            else self.tr("To which piece do the {n} takes belong?").format(n=len(take_ids)),
            choices,
            current=current,
            parent=self._window,
        )
        dialog.chosen.connect(lambda piece_id: self.file(take_ids, piece_id or None))
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()
        return dialog

    def _ask_again(self, take_ids: list[str]) -> None:
        self.ask_for_piece(take_ids)

    def _where_filed(self, take_ids: list[str]) -> tuple[str, frozenset[str]]:
        """The piece that all takes are filed with, if any, and it with all of the same music."""
        history = self._stand.history
        found = [history.take(take_id) for take_id in take_ids] if history is not None else []
        pieces = {take.piece_id for take in found if take is not None}
        piece_id = pieces.pop() if len(pieces) == 1 else None
        if piece_id is None:
            return _NOT_FILED, frozenset()
        if self._shelf is None:
            return piece_id, frozenset()
        from companion.practice.shelf_listening import same_music_on_shelf

        others = same_music_on_shelf(self._shelf.index, piece_id)
        return piece_id, frozenset((piece_id, *others)) if others else frozenset()

    def _choice_words(self, piece: Piece, same: frozenset[str]) -> str:
        name = f"{piece.title}, {piece.composer}" if piece.composer else piece.title
        return (
            self.tr("{name} (the same music)").format(name=name) if piece.piece_id in same else name
        )

    def file(self, take_ids: list[str], piece_id: str | None) -> None:
        """File takes with a piece, with none for None."""
        history = self._stand.history
        if history is None:
            return
        edits = []
        for take_id in take_ids:
            take = history.take(take_id)
            if take is not None and take.piece_id != piece_id:
                edits.append(MoveTake(take_id, take.piece_id, piece_id))
        if not edits:
            return
        self._stand.do(edits[0] if len(edits) == 1 else SeveralEdits(tuple(edits), "Move takes"))
        self._tell({edit.take_id: edit.after_piece_id for edit in edits})
        self._takes.bring_up_to_date()

    def _move_chosen(self) -> None:
        take_id = self._takes.chosen_take_id
        if take_id is None:
            self._window.messages.show_message(self.tr("Choose a take in the list first."))
        else:
            self.ask_for_piece([take_id])

    def _delete(self, take_ids: list[str]) -> None:
        self._stand.do(DeleteTakes(tuple(take_ids)))
        self._window.messages.show_message(
            self.tr("Thrown away. Undo (Ctrl+Z) brings it back."), Tone.CALM
        )

    def close(self) -> None:
        """Let go of what is being looked at."""
        self._closing = True
        if self._job is not None:
            self._job.cancel()
            self._job.wait(_WAIT_SECONDS)
