"""Playing from memory: the score is covered, and what is played meanwhile is noted so."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.piano import Piano
    from companion.desktop.stand import Stand


class MemoryWiring(QObject):
    """Covers the score, and tells the sitting that takes are played from memory."""

    def __init__(self, window: MainWindow, stand: Stand, piano: Piano) -> None:
        super().__init__(window)
        self._window = window
        self._piano = piano
        self._action = window.actions_by_id["from_memory"]
        self._action.toggled.connect(self._toggled)
        window.late_cover.when_built(lambda cover: cover.uncover_asked.connect(self._uncover))
        stand.piece_laid.connect(self._piece_laid)
        self._toggled(self._action.isChecked())

    def _toggled(self, covered: bool) -> None:
        self._piano.sitting.set_from_memory(covered)
        self._window.cover_score(covered)

    def _uncover(self) -> None:
        self._action.setChecked(False)

    def _piece_laid(self, *_: object) -> None:
        # the take of the piece before ends with that piece, while the score is still covered
        self._piano.end_take()
        self._uncover()
