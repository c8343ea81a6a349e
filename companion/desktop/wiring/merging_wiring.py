"""Merging the history of another machine into the one that is open."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog

from companion.desktop.message_strip import Tone
from companion.desktop.wiring.one_job import OneJob

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.shelf_wiring import ShelfWiring
    from companion.desktop.wiring.takes_wiring import TakesWiring
    from companion.practice.merging import MergedHistory
    from companion.progress import Report
    from companion.storage.merging.outcome import MapReplaced


class MergingWiring(QObject):
    """Asks for the other history, merges it in a thread, and shows what came of it.

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
        shelf: ShelfWiring,
        takes: TakesWiring,
        cache_folder: Path,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._shelf = shelf
        self._takes = takes
        self._cache_folder = cache_folder
        self._jobs = OneJob(window, self)
        self._jobs.broke.connect(self.broke)
        window.actions_by_id["merge_history"].triggered.connect(self._ask)

    def close(self) -> None:
        """Stop merging; the history is then as it was."""
        self._jobs.close()

    def _ask(self) -> None:
        name, _ = QFileDialog.getOpenFileName(
            self._window,
            self.tr("Merge the history of another machine"),
            "",
            self.tr("Practice histories (*.sqlite3);;All files (*)"),
        )
        if name:
            self.merge(Path(name))

    def merge(self, other: Path) -> None:
        """Bring everything that another history, or a copy of one, keeps into this one."""
        history = self._stand.history
        if history is None:
            self._window.messages.show_message(
                self.tr("There is no practice history to merge another one into.")
            )
            return
        folder = self._cache_folder

        def work(report: Report) -> MergedHistory:
            from companion.practice.merging import merge_history

            return merge_history(history, other, folder, report=report)

        self._jobs.run(work, self.tr("Merging {name}").format(name=other.name), self._merged)

    def _merged(self, outcome: MergedHistory) -> None:
        if outcome.is_news:
            # what could be undone may not be what stands there now
            self._stand.forget_edits()
            self._shelf.lay_again()
            self._stand.shelf_changed.emit()
            self._stand.takes_changed.emit()
            self._takes.bring_up_to_date()
        told = " ".join(outcome.sentences)
        if outcome.is_news:
            told += self.tr(" A copy from before is kept as “{name}”.").format(
                name=outcome.copy_before.name
            )
        piece = self._stand.piece
        lost = [
            replaced
            for replaced in outcome.merged.maps_replaced
            if replaced.was_worked_on and piece is not None and replaced.title == piece.title
        ]
        if not lost:
            self._window.messages.show_message(told, Tone.CALM)
            return
        self._window.messages.show_message(
            told,
            Tone.CALM,
            self.tr("Put my sections back"),
            lambda: self._put_back(lost[0]),
        )

    def _put_back(self, replaced: MapReplaced) -> None:
        """Put the sections of this machine in force again; that can be undone."""
        from companion.storage.sections import text_to_section_map

        piece = self._stand.piece
        if piece is not None and piece.piece_id == replaced.piece_id:
            sections = text_to_section_map(replaced.content_before)
            self._stand.change_map(sections, self.tr("Put sections back"))
