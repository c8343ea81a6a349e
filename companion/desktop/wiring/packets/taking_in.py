"""Taking a lesson in: what differs from the own work is shown, and chosen."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal

from companion.desktop.message_strip import Tone
from companion.errors import CompanionError

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.calendar import Calendar
    from companion.desktop.wiring.shelf_wiring import ShelfWiring
    from companion.practice.opening import ReadScore
    from companion.practice.packets.taking_in import Prospect


class TakingIn(QObject):
    """Shows what a lesson would bring, and takes in what is chosen of it.

    Parameters
    ----------
    calendar
        Asked anew each time: a day may begin at another hour by now.

    Signals
    -------
    answered()
        The lesson was taken in, or it was not wanted.
    """

    answered = Signal()

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        shelf: ShelfWiring,
        calendar: Callable[[], Calendar],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._shelf = shelf
        self._calendar = calendar

    def show_lesson(self, looked_at: Prospect, read: ReadScore) -> None:
        """Ask what of a lesson is to be taken in."""
        from companion.desktop.packets.sheets import LessonInSheet

        sheet = LessonInSheet(looked_at, self._window)
        sheet.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        sheet.taken.connect(lambda chosen: self._take_in(looked_at, read, chosen))
        sheet.finished.connect(self.answered)
        sheet.open()

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
                zone=self._calendar().zone,
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
        self._window.messages.show_message(outcome.sentence, Tone.CALM)
