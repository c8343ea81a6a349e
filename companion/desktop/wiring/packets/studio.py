"""The studio: the students side by side, and the report of each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal

from companion.desktop.palette import DAY, NIGHT, Palette
from companion.desktop.wiring.one_job import OneJob

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.packets.student_report import StudentReportDialog
    from companion.desktop.packets.studio_dialog import StudioDialog
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.report_wiring import ReportWiring
    from companion.practice.packets.studio import StudioRow
    from companion.progress import Report

_MIDDLE_LIGHTNESS = 128


class Studio(QObject):
    """Shows what students sent, and prints it.

    Parameters
    ----------
    reports
        Saves and prints the report of a student.

    Signals
    -------
    packet_asked()
        Somebody wants to open packets of students.
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    packet_asked = Signal()
    broke = Signal(str, str)

    def __init__(self, window: MainWindow, stand: Stand, reports: ReportWiring) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._reports = reports
        self._dialog: StudioDialog | None = None
        self._fill_again = False
        self._jobs = OneJob(window, self)
        self._jobs.broke.connect(self.broke)
        window.actions_by_id["studio"].triggered.connect(self.open)

    @property
    def dialog(self) -> StudioDialog | None:
        """The students side by side; None while they are not shown."""
        return self._dialog

    def close(self) -> None:
        """Stop reading results."""
        self._jobs.close()

    def open(self) -> None:
        """Show the students side by side."""
        if self._stand.history is None:
            self._window.messages.show_message(
                self.tr("There is no practice history to read results from.")
            )
            return
        if self._dialog is None:
            self._dialog = self._new_dialog()
        self._dialog.show()
        self._dialog.activateWindow()
        self._fill()

    def _new_dialog(self) -> StudioDialog:
        from companion.desktop.packets.studio_dialog import StudioDialog

        dialog = StudioDialog(self._colours(), self._window)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.finished.connect(self._closed)
        dialog.opened.connect(self.show_report)
        dialog.packet_asked.connect(self.packet_asked)
        dialog.print_asked.connect(self._ask_printer)
        return dialog

    def _colours(self) -> Palette:
        dark = self._window.palette().window().color().lightness() < _MIDDLE_LIGHTNESS
        return NIGHT if dark else DAY

    def _closed(self) -> None:
        self._dialog = None

    def _fill(self) -> None:
        history = self._stand.history
        if history is None:
            return
        if self._jobs.busy:
            self._fill_again = True  # more has come in meanwhile
            return

        def work(_report: Report) -> tuple[StudioRow, ...]:
            from companion.practice.packets.studio import studio_rows

            return studio_rows(history)

        self._jobs.run(work, self.tr("Reading the results"), self._show_rows)

    def _show_rows(self, rows: tuple[StudioRow, ...]) -> None:
        if self._dialog is not None:
            self._dialog.show_rows(rows)
        again, self._fill_again = self._fill_again, False
        if again:
            self._fill()

    def show_report(self, row: StudioRow) -> StudentReportDialog:
        """Show the report of a student."""
        from companion.desktop.packets.student_report import StudentReportDialog

        dialog = StudentReportDialog(row, self._dialog or self._window)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.save_asked.connect(self._reports.ask_where)
        dialog.print_asked.connect(self._reports.ask_printer)
        dialog.open()
        return dialog

    def _ask_printer(self) -> None:
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        if self._dialog is None:
            return
        from companion.desktop.packets.studio_printing import studio_document

        document = studio_document(self._dialog.rows)
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        dialog = QPrintDialog(printer, self._dialog)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setWindowModality(Qt.WindowModality.WindowModal)
        dialog.accepted.connect(lambda: document.print_(printer))
        dialog.show()
