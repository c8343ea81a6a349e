"""Lesson packets: handing a piece out, taking one in, sending results back, the studio."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QFileDialog

from companion.desktop.message_strip import Tone
from companion.desktop.palette import DAY, NIGHT, Palette
from companion.desktop.wiring.one_job import OneJob
from companion.errors import CompanionError
from companion.practice.history_care import is_stand_in

if TYPE_CHECKING:
    from companion.desktop.jobs import Jobs
    from companion.desktop.main_window import MainWindow
    from companion.desktop.packets.sheets import (
        LessonAsked,
        LessonInSheet,
        LessonSheet,
        ResultsAsked,
        ResultsSheet,
    )
    from companion.desktop.packets.student_report import StudentReportDialog
    from companion.desktop.packets.studio_dialog import StudioDialog
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.calendar import Calendar
    from companion.desktop.wiring.report_wiring import ReportWiring
    from companion.desktop.wiring.shelf_wiring import ShelfWiring
    from companion.practice.opening import ReadScore
    from companion.practice.packets.model import LessonPacket, Packet, ResultsPacket
    from companion.practice.packets.studio import StudioRow
    from companion.practice.packets.taking_in import Prospect
    from companion.progress import Report

_MIDDLE_LIGHTNESS = 128
_FILES = "Lesson packets (*.lesson)"


class PacketsWiring(QObject):
    """Joins the sheets of packets with the history.

    Parameters
    ----------
    reading
        Reads the score of a packet in its process.
    reports
        Saves and prints the report of a student.

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
        *,
        reading: Jobs,
        calendar: Calendar,
        reports: ReportWiring,
        cache_folder: Path,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._shelf = shelf
        self._reading = reading
        self._calendar = calendar
        self._reports = reports
        self._cache_folder = cache_folder
        self._jobs = OneJob(window, self)
        self._jobs.broke.connect(self.broke)
        self._jobs.stopped.connect(self._stopped)
        self._studio: StudioDialog | None = None
        self._studio_jobs = OneJob(window, self)
        self._studio_jobs.broke.connect(self.broke)
        self._fill_again = False
        self._opening = False
        self._waiting: list[str] = []
        actions = window.actions_by_id
        actions["export_lesson"].triggered.connect(self._ask_lesson)
        actions["open_packet"].triggered.connect(self._ask_packet)
        actions["send_results"].triggered.connect(self._ask_results)
        actions["studio"].triggered.connect(self._ask_studio)

    def use_calendar(self, calendar: Calendar) -> None:
        """Count days in this way from now on."""
        self._calendar = calendar

    def close(self) -> None:
        """Stop what is being done."""
        self._waiting.clear()
        self._jobs.close()
        self._studio_jobs.close()

    def _tell(self, sentence: str) -> None:
        self._window.messages.show_message(sentence, Tone.CALM)

    def _own_name(self) -> str:
        from companion.practice.packets.own_name import own_name

        known = own_name(self._stand.history) if self._stand.history is not None else None
        return known.name if known is not None else ""

    @property
    def is_opening(self) -> bool:
        """Whether a packet is being opened."""
        return self._opening

    # handing out

    def _ask_lesson(self) -> None:
        self.ask_lesson()

    def ask_lesson(self) -> LessonSheet | None:
        """Ask what goes along with the piece on the stand."""
        from companion.desktop.packets.sheets import LessonSheet
        from companion.practice.report.wording import long_day

        piece = self._stand.piece
        if piece is None or self._stand.history is None:
            return None
        day = long_day(piece.performance_date) if piece.performance_date is not None else ""
        sheet = LessonSheet(piece.title, self._own_name(), day, self._window)
        sheet.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        sheet.asked.connect(self._lesson_asked)
        sheet.open()
        return sheet

    def _lesson_asked(self, asked: LessonAsked) -> None:
        path = self._where_to(self.tr("Export a lesson"), "")
        if path is not None:
            self.write_lesson(path, asked)

    def _where_to(self, title: str, more: str) -> Path | None:
        piece = self._stand.piece
        stem = f"{piece.title if piece else 'lesson'}{more}".replace("/", " ")
        name, _ = QFileDialog.getSaveFileName(self._window, title, f"{stem}.lesson", _FILES)
        if not name:
            return None
        path = Path(name)
        return path if path.suffix else path.with_name(f"{path.name}.lesson")

    def write_lesson(self, path: Path, asked: LessonAsked) -> None:
        """Write the piece on the stand as a lesson packet."""
        history, piece = self._stand.history, self._stand.piece
        if history is None or piece is None:
            return
        zone = self._calendar.zone

        def work(report: Report) -> str:
            from companion.practice.packets.lesson import lesson_packet
            from companion.practice.packets.own_name import set_own_name
            from companion.practice.packets.writing import write_packet

            if asked.name:
                set_own_name(history, asked.name, zone=zone)
            packet = lesson_packet(
                history,
                piece,
                teacher=asked.name,
                remarks=asked.remarks,
                with_date=asked.with_date,
                report=report,
            )
            write_packet(path, packet)
            return path.name

        self._jobs.run(work, self.tr("Packing the lesson"), self._written)

    def _written(self, name: str) -> None:
        self._tell(self.tr("“{name}” was written.").format(name=name))

    # sending back

    def _ask_results(self) -> None:
        self.ask_results()

    def ask_results(self) -> ResultsSheet | None:
        """Ask what goes back to the teacher."""
        from companion.desktop.packets.sheets import ResultsSheet

        piece = self._stand.piece
        if piece is None or self._stand.history is None:
            return None
        sheet = ResultsSheet(piece.title, self._own_name(), self._calendar.today, self._window)
        sheet.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        sheet.asked.connect(self._results_asked)
        sheet.open()
        return sheet

    def _results_asked(self, asked: ResultsAsked) -> None:
        path = self._where_to(self.tr("Send results back"), f" {asked.name}")
        if path is not None:
            self.write_results(path, asked)

    def write_results(self, path: Path, asked: ResultsAsked) -> None:
        """Write how the piece on the stand stands as a packet."""
        history, opened = self._stand.history, self._stand.open_piece
        if history is None or opened is None:
            return
        section_map, calendar = self._stand.section_map, self._calendar
        hardness = self._reports.hardness()

        def work(report: Report) -> str:
            from companion.practice.packets.own_name import set_own_name
            from companion.practice.packets.results import results_packet
            from companion.practice.packets.writing import write_packet
            from companion.practice.report.filling import ReportAsked, report_values

            student = set_own_name(history, asked.name, zone=calendar.zone)
            hour = calendar.day_starts_at_hour
            values = report_values(
                history,
                opened,
                section_map,
                ReportAsked(
                    today=calendar.today,
                    from_day=asked.from_day,
                    player=student.name,
                    letter=asked.letter,
                    hardness=hardness,
                    day_starts_at_hour=hour,
                ),
            )
            packet = results_packet(
                history,
                opened.piece,
                values,
                student,
                with_takes=asked.with_takes,
                day_starts_at_hour=hour,
                tell=report,
            )
            write_packet(path, packet)
            return path.name

        self._jobs.run(work, self.tr("Packing the results"), self._written)

    # taking in

    def _ask_packet(self) -> None:
        names, _ = QFileDialog.getOpenFileNames(
            self._studio or self._window,
            self.tr("Open packets"),
            "",
            f"{_FILES};;{self.tr('All files (*)')}",
        )
        for name in names:
            self.open_path(name)

    def open_path(self, path: str) -> None:
        """Open a packet: a lesson, or results of a student; several are opened one by one."""
        if self._opening:
            self._waiting.append(path)
            return
        history = self._stand.history
        if history is None:
            self._window.messages.show_message(
                self.tr("There is no practice history to take a packet into.")
            )
            return
        if is_stand_in(history.path, self._cache_folder):
            # of a stand-in only takes come home: the lesson would be gone
            self._window.messages.show_message(
                self.tr(
                    "Your history cannot be written at present, so a packet cannot be taken in. "
                    "Open it again when your history is there."
                )
            )
            return

        def work(_report: Report) -> tuple[Packet, Prospect | None]:
            from companion.practice.packets.model import LessonPacket
            from companion.practice.packets.reading import read_packet
            from companion.practice.packets.taking_in import prospect

            packet = read_packet(Path(path))
            if isinstance(packet, LessonPacket):
                return packet, prospect(history, packet)
            return packet, None

        doing = self.tr("Opening {name}").format(name=Path(path).name)
        self._opening = self._jobs.run(work, doing, self._read, failed=self._not_read)

    def _not_read(self, sentence: str) -> None:
        self._window.messages.show_message(sentence)
        self._open_next()

    def _stopped(self) -> None:
        """Who stops one of several packets wants none of the others either."""
        self._waiting.clear()
        self._opening = False

    def _open_next(self) -> None:
        self._opening = False
        if self._waiting:
            self.open_path(self._waiting.pop(0))

    def _read(self, found: tuple[Packet, Prospect | None]) -> None:
        from companion.practice.packets.model import ResultsPacket

        packet, looked_at = found
        if isinstance(packet, ResultsPacket):
            self._receive(packet)
            self._open_next()
        elif looked_at is not None:
            self._read_score(packet, looked_at)

    def _read_score(self, packet: LessonPacket, looked_at: Prospect) -> None:
        from companion.practice.packets.taking_in import read_score_of

        progress = self._window.progress
        progress.begin(self.tr("Reading {title}").format(title=packet.piece.title))
        job = self._reading.run(read_score_of, packet)
        job.progressed.connect(progress.show_progress)
        progress.cancel_asked.connect(job.cancel)
        job.succeeded.connect(lambda read: self._show_lesson(looked_at, read))
        job.failed.connect(self._not_read)
        for stopped in (job.broken, job.cancelled):
            stopped.connect(self._stopped)
        for ended in (job.succeeded, job.failed, job.broken, job.cancelled):
            ended.connect(progress.end)

    def _show_lesson(self, looked_at: Prospect, read: ReadScore) -> LessonInSheet:
        from companion.desktop.packets.sheets import LessonInSheet

        sheet = LessonInSheet(looked_at, self._window)
        sheet.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        sheet.taken.connect(lambda chosen: self._take_in(looked_at, read, chosen))
        sheet.finished.connect(self._open_next)
        sheet.open()
        return sheet

    def _take_in(self, looked_at: Prospect, read: ReadScore, chosen: frozenset[str]) -> None:
        from companion.practice.packets.taking_in import take_in

        history = self._stand.history
        if history is None:
            return
        is_new = looked_at.piece is None
        try:
            outcome = take_in(
                history,
                looked_at,
                read,
                chosen,
                zone=self._calendar.zone,
                # a new piece comes with its lesson; what changes a known one can be undone
                apply=None if is_new else self._stand.do,
            )
        except CompanionError as error:
            self._window.messages.show_message(str(error))
            return
        self._stand.shelf_changed.emit()
        piece = self._stand.piece
        if piece is None or piece.piece_id != outcome.piece.piece_id:
            self._shelf.open_piece(outcome.piece.piece_id)
        self._tell(outcome.sentence)

    # the studio

    def _receive(self, packet: ResultsPacket) -> None:
        from companion.practice.packets.studio import receive_results

        history = self._stand.history
        if history is None:
            return
        try:
            is_new = receive_results(history, packet, self._calendar.zone)
        except CompanionError as error:
            self._window.messages.show_message(str(error))
            return
        told = self.tr("The results of {name} for “{title}” are in the studio.")
        if not is_new:
            told = self.tr("The results of {name} for “{title}” were in the studio already.")
        self._tell(told.format(name=packet.student.name, title=packet.piece.title))
        self.open_studio()
        if packet.takes:
            self._offer_takes(packet)

    def _offer_takes(self, packet: ResultsPacket) -> None:
        count = len(packet.takes)
        self._window.messages.show_message(
            self.tr("{name} also sent {n} takes.").format(name=packet.student.name, n=count),
            Tone.CALM,
            self.tr("Save them as MIDI files…"),
            lambda: self._ask_folder(packet),
        )

    def _ask_folder(self, packet: ResultsPacket) -> None:
        folder = QFileDialog.getExistingDirectory(self._window, self.tr("Save the takes"))
        if folder:
            self.save_takes(packet, Path(folder))

    def save_takes(self, packet: ResultsPacket, folder: Path) -> None:
        """Write what a student played into a folder."""
        from companion.practice.packets.studio import save_takes

        try:
            written = save_takes(packet, folder)
        except CompanionError as error:
            self._window.messages.show_message(str(error))
            return
        self._tell(
            self.tr("{n} takes were written into “{folder}”.").format(
                n=len(written), folder=folder.name
            )
        )

    def _ask_studio(self) -> None:
        self.open_studio()

    def open_studio(self) -> StudioDialog | None:
        """Show the students side by side."""
        history = self._stand.history
        if history is None:
            self._window.messages.show_message(
                self.tr("There is no practice history to read results from.")
            )
            return None
        if self._studio is None:
            self._studio = self._new_studio()
        self._studio.show()
        self._studio.activateWindow()
        self._fill_studio()
        return self._studio

    def _new_studio(self) -> StudioDialog:
        from companion.desktop.packets.studio_dialog import StudioDialog

        studio = StudioDialog(self._colours(), self._window)
        studio.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        studio.finished.connect(self._studio_closed)
        studio.opened.connect(self._show_report)
        studio.packet_asked.connect(self._ask_packet)
        studio.print_asked.connect(self._ask_printer)
        return studio

    def _colours(self) -> Palette:
        dark = self._window.palette().window().color().lightness() < _MIDDLE_LIGHTNESS
        return NIGHT if dark else DAY

    def _studio_closed(self) -> None:
        self._studio = None

    def _fill_studio(self) -> None:
        history = self._stand.history
        if history is None:
            return
        if self._studio_jobs.busy:
            self._fill_again = True  # more has come in meanwhile
            return

        def work(_report: Report) -> tuple[StudioRow, ...]:
            from companion.practice.packets.studio import studio_rows

            return studio_rows(history)

        self._studio_jobs.run(work, self.tr("Reading the results"), self._show_rows)

    def _show_rows(self, rows: tuple[StudioRow, ...]) -> None:
        if self._studio is not None:
            self._studio.show_rows(rows)
        again, self._fill_again = self._fill_again, False
        if again:
            self._fill_studio()

    def _show_report(self, row: StudioRow) -> None:
        self.show_report(row)

    def show_report(self, row: StudioRow) -> StudentReportDialog:
        """Show the report of a student."""
        from companion.desktop.packets.student_report import StudentReportDialog

        dialog = StudentReportDialog(row, self._studio or self._window)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.save_asked.connect(self._reports.ask_where)
        dialog.print_asked.connect(self._reports.ask_printer)
        dialog.open()
        return dialog

    def _ask_printer(self) -> None:
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        studio = self._studio
        if studio is None:
            return
        from companion.desktop.packets.studio_printing import studio_document

        document = studio_document(studio.rows)
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        dialog = QPrintDialog(printer, studio)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setWindowModality(Qt.WindowModality.WindowModal)
        dialog.accepted.connect(lambda: document.print_(printer))
        dialog.show()
