"""Makes the pictures of the print that will come into sight next, in the time that is left over."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QRectF, QTimer

if TYPE_CHECKING:
    from collections.abc import Mapping

    from companion.desktop.score_view.canvas import ScoreCanvas
    from companion.desktop.score_view.ink import InkItem
    from companion.desktop.score_view.sheet import SheetItem

_CALM_MS = 150  # the view must have been still for so long
_SLICE_SECONDS = 0.004


class Prefetch(QObject):
    """Prepares one view's height of print below what is in sight.

    Parameters
    ----------
    canvas
        The view; it says what is in sight and how large.
    sheets
        The sheets on the desk by page index.
    """

    def __init__(self, canvas: ScoreCanvas, sheets: Mapping[int, SheetItem]) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._sheets = sheets
        self._waiting: list[InkItem] = []
        self._calm = QTimer(self)
        self._calm.setSingleShot(True)
        self._calm.setInterval(_CALM_MS)
        self._calm.timeout.connect(self._begin)
        self._work = QTimer(self)
        self._work.setInterval(0)
        self._work.timeout.connect(self._slice)

    def ask(self) -> None:
        """Prepare what comes next, once the view is still."""
        self._work.stop()
        self._calm.start()

    def stop(self) -> None:
        """Forget what was asked: the sheets are about to go."""
        self._calm.stop()
        self._work.stop()
        self._waiting.clear()

    def _begin(self) -> None:
        viewport = self._canvas.viewport().rect()
        seen = self._canvas.mapToScene(viewport).boundingRect()
        soon = QRectF(seen.left(), seen.bottom(), seen.width(), seen.height())
        self._waiting = [
            ink
            for sheet in self._sheets.values()
            if sheet.built and sheet.sceneBoundingRect().intersects(soon)
            for ink in sheet.inks
            if ink.sceneBoundingRect().intersects(soon)
        ]
        self._waiting.reverse()
        self._work.start()

    def _slice(self) -> None:
        end = time.perf_counter() + _SLICE_SECONDS
        ratio = self._canvas.devicePixelRatioF()
        view = self._canvas.viewportTransform()
        while self._waiting and time.perf_counter() < end:
            ink = self._waiting.pop()
            ink.prepare(ink.deviceTransform(view), ratio)
        if not self._waiting:
            self._work.stop()
