"""Handing the piece on the stand out, as a lesson."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.packets.sheets import LessonAsked
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.calendar import Calendar
    from companion.desktop.wiring.packets.writing import PacketWriting
    from companion.practice.packets.model import LessonPacket
    from companion.progress import Report


class HandingOut(QObject):
    """Asks what goes along with a lesson, and writes it.

    Parameters
    ----------
    calendar
        Asked anew each time: a day may begin at another hour by now.
    """

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        writing: PacketWriting,
        calendar: Callable[[], Calendar],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._writing = writing
        self._calendar = calendar
        window.actions_by_id["export_lesson"].triggered.connect(self.ask)

    def ask(self) -> None:
        """Ask what goes along with the piece on the stand."""
        from companion.desktop.packets.sheets import LessonSheet
        from companion.practice.packets.own_name import own_name
        from companion.practice.report.wording import long_day

        history, piece = self._stand.history, self._stand.piece
        if piece is None or history is None:
            return
        day = long_day(piece.performance_date) if piece.performance_date is not None else ""
        known = own_name(history)
        sheet = LessonSheet(piece.title, known.name if known else "", day, self._window)
        sheet.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        sheet.asked.connect(self._asked)
        sheet.open()

    def _asked(self, asked: LessonAsked) -> None:
        path = self._writing.ask_where(self.tr("Export a lesson"))
        if path is not None:
            self.write_lesson(path, asked)

    def write_lesson(self, path: Path, asked: LessonAsked) -> None:
        """Write the piece on the stand as a lesson packet."""
        history, piece = self._stand.history, self._stand.piece
        if history is None or piece is None:
            return
        zone = self._calendar().zone

        def make(report: Report) -> LessonPacket:
            from companion.practice.packets.lesson import lesson_packet
            from companion.practice.packets.own_name import set_own_name

            if asked.name:
                set_own_name(history, asked.name, zone=zone)
            return lesson_packet(
                history,
                piece,
                teacher=asked.name,
                remarks=asked.remarks,
                with_date=asked.with_date,
                report=report,
            )

        self._writing.write(path, make, self.tr("Packing the lesson"))
