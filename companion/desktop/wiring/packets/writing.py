"""Writing a packet: where it goes, how it is made meanwhile, and that it is there."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog

from companion.desktop.message_strip import Tone

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.one_job import OneJob
    from companion.practice.packets.model import Packet
    from companion.progress import Report

PACKET_FILES = "Lesson packets (*.lesson)"
"""What a dialog for files offers."""


class PacketWriting(QObject):
    """Writes packets of the piece on the stand.

    Parameters
    ----------
    jobs
        What is done with packets: one thing at a time.
    """

    def __init__(self, window: MainWindow, stand: Stand, jobs: OneJob) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._jobs = jobs

    def ask_where(self, title: str, more: str = "") -> Path | None:
        """Ask for a file, proposing the name of the piece and ``more``; None for nowhere."""
        piece = self._stand.piece
        stem = f"{piece.title if piece else 'lesson'}{more}".replace("/", " ")
        name, _ = QFileDialog.getSaveFileName(self._window, title, f"{stem}.lesson", PACKET_FILES)
        if not name:
            return None
        path = Path(name)
        return path if path.suffix else path.with_name(f"{path.name}.lesson")

    def write(self, path: Path, make: Callable[[Report], Packet], doing: str) -> None:
        """Make a packet and write it, both in a thread; ``doing`` is what the window says."""

        def work(report: Report) -> str:
            from companion.practice.packets.writing import write_packet

            write_packet(path, make(report))
            return path.name

        self._jobs.run(work, doing, self._written)

    def _written(self, name: str) -> None:
        self._window.messages.show_message(
            self.tr("“{name}” was written.").format(name=name), Tone.CALM
        )
