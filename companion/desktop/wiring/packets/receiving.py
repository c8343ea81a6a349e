"""Receiving results of a student: they are kept, and takes that came along can be saved."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog

from companion.desktop.message_strip import Tone
from companion.errors import CompanionError

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.calendar import Calendar
    from companion.practice.packets.model import ResultsPacket


class Receiving(QObject):
    """Keeps the results of students.

    Parameters
    ----------
    calendar
        Asked anew each time: a day may begin at another hour by now.

    Signals
    -------
    received(ResultsPacket)
        The results are in the history.
    """

    received = Signal(object)

    def __init__(self, window: MainWindow, stand: Stand, calendar: Callable[[], Calendar]) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._calendar = calendar

    def receive(self, packet: ResultsPacket) -> None:
        """Keep results that came in; the same ones twice are kept once."""
        from companion.practice.packets.studio import receive_results

        history = self._stand.history
        if history is None:
            return
        try:
            is_new = receive_results(history, packet, self._calendar().zone)
        except CompanionError as error:
            self._window.messages.show_message(str(error))
            return
        told = self.tr("The results of {name} for “{title}” are in the studio.")
        if not is_new:
            told = self.tr("The results of {name} for “{title}” were in the studio already.")
        self._tell(told.format(name=packet.student.name, title=packet.piece.title))
        self.received.emit(packet)
        if packet.takes:
            self._offer_takes(packet)

    def _tell(self, sentence: str) -> None:
        self._window.messages.show_message(sentence, Tone.CALM)

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
