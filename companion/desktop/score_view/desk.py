"""The sheets of a score on the desk: their places, and their print built slice by slice."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QRectF, QTimer, Signal

from companion.desktop.score_view.outlines import GlyphPaths
from companion.desktop.score_view.page_flow import extent, lay_out
from companion.desktop.score_view.sheet import SheetItem

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from PySide6.QtWidgets import QGraphicsScene

    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.score.engraving.model import Box, EngravedPage

_SLICE_SECONDS = 0.006
"""Longest stretch of building between two looks at the event loop: well inside a 16.7 ms frame."""


class Desk(QObject):
    """Keeps one sheet per page index.

    Signals
    -------
    sheet_built
        Index of a page whose print is complete.
    sheet_removed
        Index of a page whose sheet is about to be replaced.
    """

    sheet_built = Signal(int)
    sheet_removed = Signal(int)

    def __init__(
        self, scene: QGraphicsScene, palette: ScorePalette, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._scene = scene
        self._palette = palette
        self._glyphs = GlyphPaths()
        self._columns = 1
        self._boxes: list[Box] = []
        self._waiting: dict[int, EngravedPage] = {}
        self._leaving: list[SheetItem] = []
        self._old_pages: list[EngravedPage] = []
        self._building: tuple[int, Iterator[None]] | None = None
        self._wanted_first = 0
        self.sheets: dict[int, SheetItem] = {}
        self._timer = QTimer(self)
        self._timer.setInterval(0)
        self._timer.timeout.connect(self._build_slice)

    # -- sheets ----------------------------------------------------------------------------------

    def clear(self, pages: Iterable[EngravedPage] = ()) -> None:
        """Take everything off the desk; the pages that lay there are let go one by one."""
        self._building = None
        self._old_pages += pages  # to free thirty at once takes as many milliseconds
        self._waiting.clear()
        # hidden now, taken apart slice by slice: a long score has ten thousand items
        for sheet in self.sheets.values():
            sheet.hide()
        self._leaving += self.sheets.values()
        self.sheets.clear()
        if self._leaving or self._old_pages:
            self._timer.start()
        self._glyphs = GlyphPaths()
        self._arrange()

    def lay_empty(self, index: int, width: float, height: float, words: str) -> None:
        """Lay an empty sheet with words of waiting."""
        if index not in self.sheets:
            self._lay(index, SheetItem(width, height, words, self._palette))
            self._arrange()

    def remove_empty_after(self, last: int) -> None:
        """Take away empty sheets behind the last page."""
        for index in [i for i in self.sheets if i > last]:
            self._scene.removeItem(self.sheets.pop(index))
        self._arrange()

    def add(self, page: EngravedPage) -> None:
        """Lay the sheet of a page and build its print in the time that is left over."""
        if self._building is not None and self._building[0] == page.index:
            self._building = None
        old = self.sheets.get(page.index)
        if old is not None:
            self.sheet_removed.emit(page.index)
            self._scene.removeItem(old)
        self._lay(page.index, SheetItem(page.width, page.height, "", self._palette))
        self._arrange()
        self._waiting[page.index] = page
        self._timer.start()

    def _lay(self, index: int, sheet: SheetItem) -> None:
        self.sheets[index] = sheet
        self._scene.addItem(sheet)

    def set_columns(self, columns: int) -> None:
        """Put this many sheets beside each other."""
        if columns != self._columns:
            self._columns = columns
            self._arrange()

    @property
    def columns(self) -> int:
        """Sheets beside each other."""
        return self._columns

    def _arrange(self) -> None:
        ordered = [self.sheets[index] for index in sorted(self.sheets)]
        self._boxes = lay_out([sheet.size for sheet in ordered], self._columns)
        for sheet, box in zip(ordered, self._boxes, strict=True):
            sheet.setPos(box.x, box.y)
        self._scene.setSceneRect(QRectF(0.0, 0.0, *extent(self._boxes)))

    def page_at(self, x: float, y: float) -> int | None:
        """Index of the page under a point of the desk."""
        for index, box in zip(sorted(self.sheets), self._boxes, strict=True):
            if box.contains(x, y):
                return index
        return None

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colours."""
        self._palette = palette
        for sheet in self.sheets.values():
            sheet.set_palette(palette)

    # -- building --------------------------------------------------------------------------------

    @property
    def is_building(self) -> bool:
        """Whether some print is still to be built."""
        return bool(self._waiting) or self._building is not None

    def want(self, page: int) -> None:
        """Build this page next, then those after it."""
        self._wanted_first = page

    def finish(self, page: int) -> None:
        """Build one page at once, for those who cannot wait (printing, a jump)."""
        if self._building is not None and self._building[0] == page:
            for _ in self._building[1]:
                pass
            self._building = None
            self.sheet_built.emit(page)
        elif page in self._waiting:
            for _ in self.sheets[page].build(self._waiting.pop(page), self._glyphs):
                pass
            self.sheet_built.emit(page)

    def _build_slice(self) -> None:
        end = time.perf_counter() + _SLICE_SECONDS
        while time.perf_counter() < end:
            if self._building is None and not self._begin_next():
                if self._leaving:
                    self._scene.removeItem(self._leaving.pop())
                elif self._old_pages:
                    self._old_pages.pop()
                else:
                    self._timer.stop()
                    return
            if self._building is None:
                continue
            page, steps = self._building
            if next(steps, "done") == "done":
                self._building = None
                self.sheet_built.emit(page)

    def _begin_next(self) -> bool:
        if not self._waiting:
            return False
        wanted = self._wanted_first
        # the page in sight, then the ones behind it, then those before
        page = min(self._waiting, key=lambda index: (index < wanted, abs(index - wanted)))
        self._building = (page, self.sheets[page].build(self._waiting.pop(page), self._glyphs))
        return True
