"""The first start: a sample with demo takes lies on the stand, and one line says what to do."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject

from companion.desktop.jobs import Jobs
from companion.desktop.main_window import MainWindow
from companion.desktop.message_strip import Tone
from companion.desktop.stand import Stand
from companion.errors import CompanionError
from companion.history.model import Take
from companion.practice.kept import LoadedScore
from companion.practice.welcome import is_sample, read_demo_takes


class WelcomeWiring(QObject):
    """Gives sample scores their demo takes, once."""

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        *,
        jobs: Jobs,
        zone: str,
        bring_up_to_date: Callable[[], None],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._jobs = jobs
        self._zone = zone
        self._bring_up_to_date = bring_up_to_date

    def score_opened(self, loaded: LoadedScore, *, greets: bool) -> None:
        """Fetch the demo takes of a sample that has no takes yet; say words of welcome first."""
        history, piece = self._stand.history, self._stand.piece
        if greets:
            self._window.messages.show_message(
                self.tr(
                    "Welcome. This is a sample piece with demo takes by a simulated pianist. "
                    "Play it on your piano, or open a piece of your own: Piece → Open a score."
                ),
                Tone.CALM,
                self.tr("First steps"),
                self._window.actions_by_id["welcome"].trigger,
            )
        if history is None or piece is None or not is_sample(loaded.read.path):
            return
        if history.takes_of(piece.piece_id) or history.takes_of(piece.piece_id, in_bin=True):
            return
        job = self._jobs.run(read_demo_takes, loaded.read.path, piece.piece_id, self._zone)
        job.succeeded.connect(self._save)

    def _save(self, takes: tuple[Take, ...]) -> None:
        if self._stand.history is None or not takes:
            return
        try:
            self._stand.history.save_takes(takes)
        except CompanionError as error:
            self._window.messages.show_message(str(error))
            return
        self._stand.takes_changed.emit()
        self._bring_up_to_date()
