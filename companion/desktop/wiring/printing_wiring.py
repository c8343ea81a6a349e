"""Printing: the score with the marks that stand on it, and the days as a table."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

    from companion.desktop.main_window import MainWindow
    from companion.desktop.score_view.score_view import ScoreView
    from companion.desktop.stand import Stand


class PrintingWiring(QObject):
    """Asks for a printer, or a PDF file, and prints."""

    def __init__(self, window: MainWindow, stand: Stand, score_view: ScoreView) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        window.actions_by_id["print_score"].triggered.connect(self._ask_score)
        window.actions_by_id["print_days"].triggered.connect(self._ask_days)

    def print_score(self, printer: QPrinter) -> None:
        """Print all pages of the score with their marks."""
        printer.setFullPage(True)
        printer.setDocName(self._title())
        piece = self._stand.piece
        self._score_view.print_score(
            printer, title=self._title(), composer=piece.composer if piece else ""
        )

    def print_days(self, printer: QPrinter) -> None:
        """Print how the sections stood day by day, and the takes."""
        from companion.desktop.days.printing import days_document

        printer.setDocName(self._title())
        piece = self._stand.piece
        days_document(
            self._window.pages.days.content, self._title(), piece.composer if piece else ""
        ).print_(printer)

    def _title(self) -> str:
        return self._stand.piece.title if self._stand.piece is not None else ""

    def _ask_score(self) -> None:
        self._ask(self.print_score)

    def _ask_days(self) -> None:
        self._ask(self.print_days)

    def _ask(self, print_on: Callable[[QPrinter], None]) -> None:
        # imported late: the window does not need it at its start
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        dialog = QPrintDialog(printer, self._window)
        dialog.setWindowTitle(self.tr("Print"))
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setWindowModality(Qt.WindowModality.WindowModal)
        dialog.accepted.connect(lambda: print_on(printer))
        dialog.show()
