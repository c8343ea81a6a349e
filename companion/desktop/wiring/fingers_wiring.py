"""Suggested fingers throughout the piece, and the hands of the pianist that they are made for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from companion.analysis.fingering.hands import PianistHands, hands_from_texts, hands_to_texts
from companion.desktop.grouping.hands_dialog import HandsDialog
from companion.desktop.grouping.wording import tr
from companion.practice.fingering import suggested_fingers
from companion.practice.lent_score import lend, with_score

if TYPE_CHECKING:
    from companion.analysis.grouping.model import Grouping
    from companion.desktop.jobs import Jobs, RunningJob
    from companion.desktop.main_window import MainWindow
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.grouping_wiring import GroupingWiring
    from companion.desktop.wiring.view_wiring import ViewWiring


class FingersWiring(QObject):
    """Has the worker finger the whole piece, and again whenever hands, groups or fingers change."""

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        view: ViewWiring,
        grouping: GroupingWiring,
        jobs: Jobs,
        cache_folder: Path,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._view = view
        self._grouping = grouping
        self._jobs = jobs
        self._cache_folder = cache_folder
        self._job: RunningJob | None = None
        self._wanted = False
        self._asked: tuple[PianistHands, dict[str, int], Grouping] | None = None
        settings = view.settings
        grouping.set_hands(
            hands_from_texts(settings.right_hand, settings.left_hand, settings.finger_rules)
        )
        row = window.group_row
        row.whole_piece_toggled.connect(self.show_whole_piece)
        row.hands_asked.connect(self.ask_for_hands)
        grouping.changed.connect(self._refresh)
        window.progress.cancel_asked.connect(self._cancel)
        window.actions_by_id["show_groups"].toggled.connect(self._refresh)

    # -- the hands -------------------------------------------------------------------------------

    def ask_for_hands(self) -> HandsDialog:
        """Show the dialog about the hands."""
        dialog = HandsDialog(self._grouping.hands, self._window)
        dialog.hands_set.connect(self.set_hands)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()
        return dialog

    def set_hands(self, hands: PianistHands) -> None:
        """Ask these hands from now on, for every piece."""
        right, left, rules = hands_to_texts(hands)
        self._view.change(right_hand=right, left_hand=left, finger_rules=rules)
        self._grouping.set_hands(hands)

    # -- the whole piece -------------------------------------------------------------------------

    def show_whole_piece(self, shown: bool) -> None:
        """Show suggested fingers at all notes, or at none."""
        self._wanted = shown
        self._window.group_row.set_whole_piece(shown)
        if not shown:
            self._stop()
            self._grouping.set_suggested(())
        self._refresh()

    def _refresh(self) -> None:
        opened, grouping = self._stand.open_piece, self._grouping.grouping
        if opened is None or grouping is None:
            self._stop()
            return
        lane_shown = self._window.actions_by_id["show_groups"].isChecked()
        if not self._wanted or not lane_shown:
            return
        asked = (self._grouping.hands, self._grouping.locked, grouping)
        if asked == self._asked:
            return
        self._stop()
        self._asked = asked
        job = self._jobs.run(
            with_score,
            suggested_fingers,
            lend(opened, self._cache_folder),
            *asked,
            self._cache_folder,
        )
        self._job = job
        self._window.progress.begin(tr("Looking for fingers"))
        job.progressed.connect(self._window.progress.show_progress)
        job.succeeded.connect(self._found)
        job.failed.connect(self._failed)
        job.broken.connect(self._cancelled)
        job.cancelled.connect(self._cancelled)

    def _found(self, fingers: object) -> None:
        self._ended()
        if isinstance(fingers, tuple):
            self._grouping.set_suggested(fingers)

    def _failed(self, sentence: str) -> None:
        self._cancelled()
        self._window.messages.show_message(sentence)

    def _cancelled(self) -> None:
        self._ended()
        self._asked = None
        self.show_whole_piece(False)

    def _cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()

    def _stop(self) -> None:
        """Nobody waits for the fingers any more."""
        self._asked = None
        if self._job is not None:
            self._job.forget()
            self._ended()

    def _ended(self) -> None:
        self._job = None
        self._window.progress.end()
