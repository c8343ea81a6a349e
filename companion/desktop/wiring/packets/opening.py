"""Opening packets that came as files, one after the other, as far as telling what they are."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

from companion.desktop.wiring.packets.writing import PACKET_FILES
from companion.practice.history_care import is_stand_in

if TYPE_CHECKING:
    from companion.desktop.jobs import Jobs
    from companion.desktop.main_window import MainWindow
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.one_job import OneJob
    from companion.practice.opening import ReadScore
    from companion.practice.packets.model import LessonPacket, Packet
    from companion.practice.packets.taking_in import Prospect
    from companion.progress import Report
    from companion.storage.history_file import HistoryFile


class PacketOpening(QObject):
    """Reads packets; who takes a lesson in says with :meth:`open_next` that it is done.

    Parameters
    ----------
    jobs
        What is done with packets: one thing at a time.
    reading
        Reads the score of a lesson in its process.

    Signals
    -------
    lesson_read(Prospect, ReadScore)
        What a lesson would bring, and its score.
    results_read(ResultsPacket)
        Results of a student.
    """

    lesson_read = Signal(object, object)
    results_read = Signal(object)

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        jobs: OneJob,
        *,
        reading: Jobs,
        cache_folder: Path,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._jobs = jobs
        self._reading = reading
        self._cache_folder = cache_folder
        self._opening = False
        self._waiting: list[str] = []
        jobs.stopped.connect(self._stopped)

    @property
    def is_opening(self) -> bool:
        """Whether a packet is being opened."""
        return self._opening

    def forget_waiting(self) -> None:
        """Open none of the packets that wait."""
        self._waiting.clear()

    def ask(self, parent: QWidget) -> None:
        """Ask which packets to open, and open them."""
        names, _ = QFileDialog.getOpenFileNames(
            parent,
            self.tr("Open packets"),
            "",
            f"{PACKET_FILES};;{self.tr('All files (*)')}",
        )
        for name in names:
            self.open_path(name)

    def open_path(self, path: str) -> None:
        """Open a packet: a lesson, or results of a student; several are opened one by one."""
        if self._opening:
            self._waiting.append(path)
            return
        history = self._history()
        if history is None:
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

    def open_next(self) -> None:
        """Go on to the packet that waits longest."""
        self._opening = False
        if self._waiting:
            self.open_path(self._waiting.pop(0))

    def _history(self) -> HistoryFile | None:
        """The history that packets are taken into; says so where there is none."""
        history = self._stand.history
        if history is None:
            self._window.messages.show_message(
                self.tr("There is no practice history to take a packet into.")
            )
            return None
        if is_stand_in(history.path, self._cache_folder):
            # of a stand-in only takes come home: the lesson would be gone
            self._window.messages.show_message(
                self.tr(
                    "Your history cannot be written at present, so a packet cannot be taken in. "
                    "Open it again when your history is there."
                )
            )
            return None
        return history

    def _not_read(self, sentence: str) -> None:
        self._window.messages.show_message(sentence)
        self.open_next()

    def _stopped(self) -> None:
        """Who stops one of several packets wants none of the others either."""
        self.forget_waiting()
        self._opening = False

    def _read(self, found: tuple[Packet, Prospect | None]) -> None:
        from companion.practice.packets.model import ResultsPacket

        packet, looked_at = found
        if isinstance(packet, ResultsPacket):
            self.results_read.emit(packet)
            self.open_next()
        elif looked_at is not None:
            self._read_score(packet, looked_at)

    def _read_score(self, packet: LessonPacket, looked_at: Prospect) -> None:
        from companion.practice.packets.taking_in import read_score_of

        progress = self._window.progress
        progress.begin(self.tr("Reading {title}").format(title=packet.piece.title))
        job = self._reading.run(read_score_of, packet)
        job.progressed.connect(progress.show_progress)
        progress.cancel_asked.connect(job.cancel)
        job.succeeded.connect(lambda read: self._score_read(looked_at, read))
        job.failed.connect(self._not_read)
        for stopped in (job.broken, job.cancelled):
            stopped.connect(self._stopped)
        for ended in (job.succeeded, job.failed, job.broken, job.cancelled):
            ended.connect(progress.end)

    def _score_read(self, looked_at: Prospect, read: ReadScore) -> None:
        self.lesson_read.emit(looked_at, read)
