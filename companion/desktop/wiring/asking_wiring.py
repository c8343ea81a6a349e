"""What is asked of the pianist about the piece on the stand: its file, its part, its date."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog

from companion.desktop.choice_dialog import Choice, ChoiceDialog
from companion.desktop.dialogs import DateDialog
from companion.resources import sample_scores_folder

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.shelf_wiring import ShelfWiring
    from companion.score.reading.part_choice import PartChoice

SCORE_SUFFIXES = (
    ".musicxml", ".xml", ".mxl", ".mei", ".krn", ".abc", ".mid", ".midi", ".lesson"
)  # fmt: skip


class AskingWiring(QObject):
    """Dialogs of a piece.

    Signals
    -------
    folder_used(str)
        The folder from which a file was opened, to be remembered.
    """

    folder_used = Signal(str)

    def __init__(
        self, window: MainWindow, stand: Stand, shelf: ShelfWiring, *, last_folder: str
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._shelf = shelf
        self._last_folder = last_folder
        actions = window.actions_by_id
        actions["open_score"].triggered.connect(self._ask_for_score)
        actions["choose_part"].triggered.connect(self._ask_for_part)
        actions["performance_date"].triggered.connect(self._ask_for_date)
        window.pages.late_shelf.when_built(
            lambda page: page.open_asked.connect(self._ask_for_score)
        )

    def _ask_for_score(self) -> None:
        patterns = " ".join(f"*{suffix}" for suffix in SCORE_SUFFIXES)
        path, _ = QFileDialog.getOpenFileName(
            self._window,
            self.tr("Open a score"),
            # at the first time the other samples are to be found without looking for them
            self._last_folder or str(sample_scores_folder()),
            self.tr("Scores ({patterns});;All files (*)").format(patterns=patterns),
        )
        if path:
            self._last_folder = str(Path(path).parent)
            self.folder_used.emit(self._last_folder)
            self._shelf.open_path(path)

    def _ask_for_part(self) -> None:
        self.ask_for_part()

    def ask_for_part(self) -> ChoiceDialog:
        """Ask which part of a larger score is played."""
        piece = self._stand.piece
        dialog = ChoiceDialog(
            self.tr("Choose the part"),
            self.tr("Which part do you play?"),
            [Choice(key=part.part_id, text=self._part_name(part)) for part in self._shelf.parts],
            current=piece.part if piece is not None else "",
            parent=self._window,
        )
        dialog.chosen.connect(self._shelf.open_other_part)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()
        return dialog

    def _part_name(self, part: PartChoice) -> str:
        name = part.name or part.part_id
        return self.tr("{name}: {notes} notes").format(name=name, notes=part.note_count)

    def _ask_for_date(self) -> None:
        piece = self._stand.piece
        if piece is None:
            return
        dialog = DateDialog(piece.performance_date, self._shelf.today, self._window)
        dialog.date_chosen.connect(self._date_chosen)
        dialog.open()

    def _date_chosen(self, day: date | None) -> None:
        if self._stand.piece is not None:
            self._stand.set_performance_date(self._stand.piece, day)
