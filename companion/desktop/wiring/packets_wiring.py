"""Lesson packets and the studio: joins the parts in :mod:`companion.desktop.wiring.packets`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from companion.desktop.wiring.one_job import OneJob
from companion.desktop.wiring.packets.handing_out import HandingOut
from companion.desktop.wiring.packets.opening import PacketOpening
from companion.desktop.wiring.packets.receiving import Receiving
from companion.desktop.wiring.packets.sending_back import SendingBack
from companion.desktop.wiring.packets.studio import Studio
from companion.desktop.wiring.packets.taking_in import TakingIn
from companion.desktop.wiring.packets.writing import PacketWriting

if TYPE_CHECKING:
    from companion.desktop.jobs import Jobs
    from companion.desktop.main_window import MainWindow
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.calendar import Calendar
    from companion.desktop.wiring.report_wiring import ReportWiring
    from companion.desktop.wiring.shelf_wiring import ShelfWiring


class PacketsWiring(QObject):
    """Builds what deals with packets, and joins what comes in with where it goes.

    Parameters
    ----------
    reading
        Reads the score of a packet in its process.
    reports
        Saves and prints the report of a student, and knows how hard the sections are.

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
        self._calendar = calendar
        self._jobs = OneJob(window, self)
        self._jobs.broke.connect(self.broke)

        writing = PacketWriting(window, stand, self._jobs)
        self.handing_out = HandingOut(window, stand, writing, self._calendar_now)
        self.sending_back = SendingBack(window, stand, writing, reports, self._calendar_now)
        self.opening = PacketOpening(
            window, stand, self._jobs, reading=reading, cache_folder=cache_folder
        )
        self.taking_in = TakingIn(window, stand, shelf, self._calendar_now)
        self.receiving = Receiving(window, stand, self._calendar_now)
        self.studio = Studio(window, stand, reports)

        self.opening.lesson_read.connect(self.taking_in.show_lesson)
        self.taking_in.answered.connect(self.opening.open_next)
        self.opening.results_read.connect(self.receiving.receive)
        self.receiving.received.connect(self.studio.open)
        self.studio.broke.connect(self.broke)
        self.studio.packet_asked.connect(self._ask_packet)
        window.actions_by_id["open_packet"].triggered.connect(self._ask_packet)

    def use_calendar(self, calendar: Calendar) -> None:
        """Count days in this way from now on."""
        self._calendar = calendar

    def close(self) -> None:
        """Stop what is being done."""
        self.opening.forget_waiting()
        self._jobs.close()
        self.studio.close()

    def _calendar_now(self) -> Calendar:
        return self._calendar

    def _ask_packet(self) -> None:
        self.opening.ask(self.studio.dialog or self._window)
