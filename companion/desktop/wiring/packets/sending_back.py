"""Sending back to the teacher how the piece on the stand stands."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.packets.sheets import ResultsAsked
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.calendar import Calendar
    from companion.desktop.wiring.packets.writing import PacketWriting
    from companion.desktop.wiring.report_wiring import ReportWiring
    from companion.practice.packets.model import ResultsPacket
    from companion.progress import Report


class SendingBack(QObject):
    """Asks what the teacher shall see, and writes it.

    Parameters
    ----------
    reports
        Knows how hard the sections are.
    calendar
        Asked anew each time: a day may begin at another hour by now.
    """

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        writing: PacketWriting,
        reports: ReportWiring,
        calendar: Callable[[], Calendar],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._writing = writing
        self._reports = reports
        self._calendar = calendar
        window.actions_by_id["send_results"].triggered.connect(self.ask)

    def ask(self) -> None:
        """Ask what goes back to the teacher."""
        from companion.desktop.packets.sheets import ResultsSheet
        from companion.practice.packets.own_name import own_name

        history, piece = self._stand.history, self._stand.piece
        if piece is None or history is None:
            return
        known = own_name(history)
        sheet = ResultsSheet(
            piece.title, known.name if known else "", self._calendar().today, self._window
        )
        sheet.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        sheet.asked.connect(self._asked)
        sheet.open()

    def _asked(self, asked: ResultsAsked) -> None:
        path = self._writing.ask_where(self.tr("Send results back"), f" {asked.name}")
        if path is not None:
            self.write_results(path, asked)

    def write_results(self, path: Path, asked: ResultsAsked) -> None:
        """Write how the piece on the stand stands as a packet."""
        history, opened = self._stand.history, self._stand.open_piece
        if history is None or opened is None:
            return
        section_map, calendar = self._stand.section_map, self._calendar()
        hardness = self._reports.hardness()

        def make(report: Report) -> ResultsPacket:
            from companion.practice.packets.own_name import set_own_name
            from companion.practice.packets.results import results_packet
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
            return results_packet(
                history,
                opened.piece,
                values,
                student,
                with_takes=asked.with_takes,
                day_starts_at_hour=hour,
                tell=report,
            )

        self._writing.write(path, make, self.tr("Packing the results"))
