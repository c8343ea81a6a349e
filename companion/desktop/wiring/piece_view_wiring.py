"""Each piece is shown again as it was left: size, pages beside each other, place on the page."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer

from companion.desktop.score_view.zoom import ViewState
from companion.errors import CompanionError

if TYPE_CHECKING:
    from companion.desktop.late_parts import Late
    from companion.desktop.main_window import MainWindow
    from companion.desktop.opening import Opening
    from companion.desktop.score_view.score_view import ScoreView
    from companion.desktop.stand import Stand
    from companion.practice.opening import OpenPiece

_KEEP_AFTER_MS = 1000


class PieceViewWiring(QObject):
    """Joins the view of the score with what the history keeps of it."""

    def __init__(
        self, window: MainWindow, stand: Stand, score_view: ScoreView, opening: Late[Opening]
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        self._kept = ""
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(_KEEP_AFTER_MS)
        self._timer.timeout.connect(self.keep)
        # another score lies there, not yet filed
        opening.when_built(lambda opening: opening.prepared.connect(self._timer.stop))
        score_view.view_moved.connect(self._moved)
        stand.piece_laid.connect(self._piece_laid)
        actions = window.actions_by_id
        actions["fit_page"].triggered.connect(score_view.fit_page)
        actions["side_by_side"].toggled.connect(score_view.set_side_by_side)

    def keep(self) -> None:
        """Keep how the piece is shown now."""
        self._timer.stop()
        history, piece = self._stand.history, self._stand.piece
        if history is None or piece is None:
            return
        text = view_text(self._score_view.view_state)
        if text == self._kept:
            return
        try:
            history.set_view(piece.piece_id, text)
        except CompanionError:
            return  # the history says by itself that it cannot be written
        self._kept = text

    def _moved(self) -> None:
        if self._stand.piece is not None and self._score_view.has_pages:
            self._timer.start()

    def _piece_laid(self, opened: OpenPiece) -> None:
        self._timer.stop()
        self._kept = opened.view
        state = view_state(opened.view)
        self._window.actions_by_id["side_by_side"].setChecked(
            state is not None and state.side_by_side
        )
        if state is not None:
            self._score_view.restore_view(state)


def view_text(state: ViewState) -> str:
    """How a piece is shown, as text for the history."""
    return json.dumps(
        {
            "fit": state.fit.value,
            "pixels": round(state.pixels_per_space, 2),
            "side_by_side": state.side_by_side,
            "page": state.page,
            "share": round(state.share, 3),
        }
    )


def view_state(text: str) -> ViewState | None:
    """Inverse of :func:`view_text`; None for text that is empty or says nothing of use."""
    try:
        values = json.loads(text)
        return ViewState.checked(
            fit=values["fit"],
            pixels_per_space=values["pixels"],
            side_by_side=values["side_by_side"],
            page=values["page"],
            share=values["share"],
        )
    except (ValueError, TypeError, KeyError):
        return None
