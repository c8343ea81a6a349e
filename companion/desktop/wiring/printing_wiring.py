"""On paper and as PDF: the score with the marks that stand on it, and the days as a table."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QFileDialog

from companion.desktop.message_strip import Tone
from companion.desktop.score_view.printing import SectionHead
from companion.practice.score_export import marks_to_print
from companion.whole_file import whole_file

if TYPE_CHECKING:
    from PySide6.QtGui import QPagedPaintDevice
    from PySide6.QtPrintSupport import QPrinter

    from companion.desktop.main_window import MainWindow
    from companion.desktop.score_view.score_view import ScoreView
    from companion.desktop.stand import Stand

_DOTS_PER_INCH = 600


class PrintingWiring(QObject):
    """Asks for a printer, or a PDF file, and prints."""

    def __init__(self, window: MainWindow, stand: Stand, score_view: ScoreView) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        window.actions_by_id["print_score"].triggered.connect(self._ask_score)
        window.actions_by_id["export_pdf"].triggered.connect(self._ask_pdf)
        window.actions_by_id["print_days"].triggered.connect(self._ask_days)
        window.pages.late_readiness.when_built(
            lambda page: page.print_asked.connect(self._ask_readiness)
        )
        window.pages.late_today.when_built(lambda page: page.print_asked.connect(self._ask_today))

    def print_score(self, printer: QPrinter) -> None:
        """Print all pages of the score with their marks."""
        printer.setFullPage(True)
        printer.setDocName(self._title())
        self._print_on(printer)

    def write_pdf(self, path: Path) -> None:
        """Write all pages of the score with their marks as a PDF, whole or not at all."""
        from PySide6.QtCore import QMarginsF
        from PySide6.QtGui import QPageSize, QPdfWriter

        messages = self._window.messages
        if not self._score_view.is_complete:
            messages.show_message(self.tr("The pages are still being engraved: a moment, please."))
            return
        try:
            with whole_file(path) as unfinished:
                unfinished.write_bytes(b"")  # a folder that is not there is told in its own words
                writer = QPdfWriter(str(unfinished))
                writer.setResolution(_DOTS_PER_INCH)
                writer.setPageSize(QPageSize(QPageSize.PageSizeId.A4))
                writer.setPageMargins(QMarginsF())
                writer.setTitle(self._title())
                writer.setCreator(self.tr("Companion at the piano"))
                self._print_on(writer)
                del writer  # it closes its file
        except OSError as error:
            messages.show_message(
                self.tr("“{name}” cannot be written: {reason}.").format(
                    name=path.name, reason=error.strerror or error
                )
            )
            return
        messages.show_message(self.tr("“{name}” was written.").format(name=path.name), Tone.CALM)

    def _print_on(self, device: QPagedPaintDevice) -> None:
        piece, score = self._stand.piece, self._stand.score
        marks = marks_to_print(self._stand.section_map, score) if score is not None else ()
        self._score_view.print_score(
            device,
            title=self._title(),
            composer=piece.composer if piece else "",
            sections=[
                SectionHead(
                    mark.position.measure_index,
                    float(mark.position.offset_quarters),
                    mark.name,
                    mark.words,
                )
                for mark in marks
            ],
        )

    def print_days(self, printer: QPrinter) -> None:
        """Print how the sections stood day by day, and the takes."""
        from companion.desktop.days.printing import days_document

        printer.setDocName(self._title())
        piece = self._stand.piece
        days_document(
            self._window.pages.days.content, self._title(), piece.composer if piece else ""
        ).print_(printer)

    def print_today(self, printer: QPrinter) -> None:
        """Print the plan of today."""
        from companion.desktop.today.printing import today_document

        printer.setDocName(self._title())
        today_document(self._window.pages.today.content, self._title()).print_(printer)

    def print_readiness(self, printer: QPrinter) -> None:
        """Print how ready the piece is."""
        from companion.desktop.readiness.printing import readiness_document

        printer.setDocName(self._title())
        content = self._window.pages.readiness.content
        readiness_document(content, self._title()).print_(printer)

    def _title(self) -> str:
        return self._stand.piece.title if self._stand.piece is not None else ""

    def _ask_score(self) -> None:
        self._ask(self.print_score)

    def _ask_pdf(self) -> None:
        if self._stand.piece is None:
            return
        name, _ = QFileDialog.getSaveFileName(
            self._window,
            self.tr("Export the marked score as PDF"),
            f"{self._title() or 'score'}.pdf".replace("/", " "),
            "PDF (*.pdf)",
        )
        if name:
            self.write_pdf(Path(name))

    def _ask_days(self) -> None:
        self._ask(self.print_days)

    def _ask_readiness(self) -> None:
        self._ask(self.print_readiness)

    def _ask_today(self) -> None:
        self._ask(self.print_today)

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
