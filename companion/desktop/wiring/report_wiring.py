"""The report for the teacher: asked for, shown, saved, printed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QFileDialog

from companion.desktop.message_strip import Tone
from companion.desktop.wiring.one_job import OneJob
from companion.errors import CompanionError

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

    from companion.desktop.main_window import MainWindow
    from companion.desktop.report.dialog import ReportDialog
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.calendar import Calendar
    from companion.practice.report.values import ReportValues
    from companion.progress import Report


class ReportWiring(QObject):
    """Joins the sheet of the report with the history.

    ``hardness`` is asked how hard the sections are, by id; None while nobody knows.

    Signals
    -------
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    broke = Signal(str, str)

    def __init__(self, window: MainWindow, stand: Stand, calendar: Calendar) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._calendar = calendar
        self._jobs = OneJob(window, self)
        self._jobs.broke.connect(self.broke)
        self._dialog: ReportDialog | None = None
        self.hardness: Callable[[], Mapping[str, float] | None] = lambda: None
        window.actions_by_id["report"].triggered.connect(self._ask)

    def use_calendar(self, calendar: Calendar) -> None:
        """Count days in this way from now on."""
        self._calendar = calendar

    def close(self) -> None:
        """Stop what is being worked up."""
        self._jobs.close()

    def _ask(self) -> None:
        self.ask()

    def ask(self) -> ReportDialog | None:
        """Open the sheet for the piece on the stand."""
        from companion.desktop.report.dialog import ReportDialog
        from companion.practice.packets.own_name import own_name

        history = self._stand.history
        if history is None or self._stand.open_piece is None or self._dialog is not None:
            return self._dialog
        known = own_name(history)
        dialog = ReportDialog(
            self._calendar.today, known.name if known else "", parent=self._window
        )
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.period_chosen.connect(self._work_up)
        dialog.save_asked.connect(self.ask_where)
        dialog.print_asked.connect(self.ask_printer)
        dialog.finished.connect(self._closed)
        self._dialog = dialog
        dialog.show_waiting()
        dialog.open()
        self._work_up(None)
        return dialog

    def _closed(self) -> None:
        dialog, self._dialog = self._dialog, None
        if dialog is not None and dialog.choices.player:
            self._remember(dialog.choices.player)

    def _remember(self, name: str) -> None:
        from companion.practice.packets.own_name import set_own_name

        if self._stand.history is not None:
            try:
                set_own_name(self._stand.history, name, zone=self._calendar.zone)
            except CompanionError as error:
                self._window.messages.show_message(str(error))

    def _work_up(self, from_day: date | None) -> None:
        history, opened = self._stand.history, self._stand.open_piece
        if history is None or opened is None:
            return
        section_map, calendar, hardness = self._stand.section_map, self._calendar, self.hardness()

        def work(_report: Report) -> ReportValues:
            from companion.practice.report.filling import ReportAsked, report_values

            asked = ReportAsked(
                today=calendar.today,
                from_day=from_day,
                hardness=hardness,
                day_starts_at_hour=calendar.day_starts_at_hour,
            )
            return report_values(history, opened, section_map, asked)

        self._jobs.run(work, self.tr("Writing the report"), self._worked_up)

    def _worked_up(self, values: ReportValues) -> None:
        if self._dialog is not None:
            self._dialog.show_values(values)

    def ask_where(self, report: ReportValues) -> None:
        """Ask where to write a report, and write it."""
        stem = f"{report.title} {report.to_day.isoformat()}".replace("/", " ")
        name, _ = QFileDialog.getSaveFileName(
            self._dialog or self._window,
            self.tr("Save the report"),
            f"{stem}.pdf",
            self.tr("PDF (*.pdf);;Page (*.html);;Table (*.csv)"),
        )
        if name:
            self.save(Path(name), report)

    def save(self, path: Path, report: ReportValues) -> None:
        """Write the report, as its name says."""
        from companion.desktop.report.printing import write_pdf
        from companion.practice.report.writing import write_report

        target = path if path.suffix else path.with_name(f"{path.name}.pdf")
        try:
            if target.suffix.lower() == ".pdf":
                write_pdf(target, report)
            else:
                write_report(target, report)
        except CompanionError as error:
            self._window.messages.show_message(str(error))
            return
        self._window.messages.show_message(
            self.tr("“{name}” was written.").format(name=target.name), Tone.CALM
        )

    def ask_printer(self, report: ReportValues) -> None:
        """Ask for a printer, and print a report."""
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        dialog = QPrintDialog(printer, self._dialog or self._window)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setWindowModality(Qt.WindowModality.WindowModal)
        dialog.accepted.connect(lambda: self.print_report(printer, report))
        dialog.show()

    def print_report(self, printer: QPrinter, report: ReportValues) -> None:
        """Print the report on a printer."""
        from companion.desktop.report.paper.layout import lay_out
        from companion.desktop.report.printing import print_pages

        printer.setFullPage(True)
        printer.setDocName(report.title)
        try:
            print_pages(printer, lay_out(report))
        except CompanionError as error:
            self._window.messages.show_message(str(error))
