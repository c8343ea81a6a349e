"""Turns the pages for the player, and brings a measure into sight for those who ask for it."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from companion.desktop.score_view.follow import Extent, turn_to

if TYPE_CHECKING:
    from companion.desktop.score_view.canvas import ScoreCanvas
    from companion.desktop.score_view.desk import Desk
    from companion.desktop.score_view.score_index import PlacedMeasure, ScoreIndex

_TOP_MARGIN_SPACES = 2.0
_PENCIL_SPACES = 2.0  # room above the highest print for marks, and for the eye
_HANDS_OFF_SECONDS = 6.0
"""After scrolling by hand the view stays for so long before it follows the player again."""


class PageTurner:
    """Knows where each system is in pixels; what to do is decided in :mod:`follow`."""

    def __init__(self, canvas: ScoreCanvas, desk: Desk, index: ScoreIndex) -> None:
        self._canvas = canvas
        self._desk = desk
        self._index = index
        self._hands_off_until = 0.0
        self._extents: list[Extent] = []
        self._numbers: dict[tuple[int, int], int] = {}
        self.following = True

    def start_anew(self, index: ScoreIndex) -> None:
        """Begin with another score."""
        self._index = index
        self.forget_extents()

    def forget_extents(self) -> None:
        """Measure again: pages have come, or the zoom has changed."""
        self._extents = []

    def hands_off(self) -> None:
        """The person scrolls: leave the view alone for a while."""
        self._hands_off_until = time.monotonic() + _HANDS_OFF_SECONDS

    def hands_on(self) -> None:
        """Follow again at once."""
        self._hands_off_until = 0.0

    def extents(self) -> list[Extent]:
        """Edges of all systems in pixels of the desk, in reading order."""
        if self._extents:
            return self._extents
        scale = self._canvas.transform().m22()
        self._numbers = {}
        for page in self._index.pages:
            y = self._desk.sheets[page.index].pos().y()
            for system in page.systems:
                top = min(system.outer_box.y, system.box.y - _TOP_MARGIN_SPACES) - _PENCIL_SPACES
                bottom = max(system.outer_box.bottom, system.box.bottom + 1.0)
                self._numbers[page.index, system.index] = len(self._extents)
                self._extents.append(Extent((y + top) * scale, (y + bottom) * scale))
        return self._extents

    def extent_of(self, placed: PlacedMeasure) -> Extent:
        """Edges of the system of a measure."""
        extents = self.extents()
        return extents[self._numbers[placed.page, placed.measure.system]]

    def follow(self, placed: PlacedMeasure, x: float) -> None:
        """The player is at ``x`` of this measure: turn the page when it is time."""
        if not self.following or time.monotonic() < self._hands_off_until:
            return
        extents = self.extents()
        number = self._numbers[placed.page, placed.measure.system]
        box = placed.system.box
        share = (x - box.x) / box.width if box.width else 0.0
        self._go(placed.page, turn_to(extents, number, share, *self._view()))
        self._bring_across(placed.page, x)

    def show(self, placed: PlacedMeasure) -> None:
        """Bring the system of a measure into sight."""
        self._go(placed.page, turn_to([self.extent_of(placed)], 0, 0.0, *self._view()))

    def scroll_by_view(self, direction: int) -> None:
        """Scroll nearly one view's height down (1) or up (-1)."""
        height = self._canvas.viewport().height()
        self._canvas.go_to(self._canvas.turning_to() + direction * 0.9 * height, smoothly=True)

    def _view(self) -> tuple[float, float]:
        return self._canvas.turning_to(), self._canvas.viewport().height()

    def _go(self, page: int, top: float | None) -> None:
        if top is not None:
            self._desk.want(page)
            self._canvas.go_to(top, smoothly=True)

    def _bring_across(self, page: int, x: float) -> None:
        """Scroll sideways when the sheet is wider than the window and the place is not in it."""
        bar = self._canvas.horizontalScrollBar()
        if bar.maximum() == bar.minimum():
            return
        width = self._canvas.viewport().width()
        sheet_x = self._desk.sheets[page].pos().x()
        across = (sheet_x + x) * self._canvas.transform().m11()
        if not bar.value() + 0.1 * width <= across <= bar.value() + 0.9 * width:
            bar.setValue(round(across - 0.2 * width))
