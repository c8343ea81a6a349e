"""Tints and frames on the sheets: the place being played, the section looked at, the focus."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPen
from PySide6.QtWidgets import QGraphicsRectItem

from companion.desktop.score_view.place_items import BandItem, PlaceRule
from companion.desktop.score_view.print_items import rect_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from PySide6.QtWidgets import QGraphicsItem

    from companion.desktop.score_view.score_index import PlacedMeasure, ScoreIndex
    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.desktop.score_view.sheet import SheetItem
    from companion.score.model import Position

_ABOVE_AND_BELOW = 1.4
_EDGE = 0.2
_FRAME_Z, _PLACE_Z, _SECTION_Z = 4.0, -1.0, -2.0


class Bands:
    """Owns the few items that move over the sheets."""

    def __init__(
        self, index: ScoreIndex, sheets: Mapping[int, SheetItem], palette: ScorePalette
    ) -> None:
        self._index = index
        self._sheets = sheets
        self._palette = palette
        self._place: BandItem | None = None
        self._rule: PlaceRule | None = None
        self._frame: QGraphicsRectItem | None = None
        self._section: list[BandItem] = []
        self._section_ends: tuple[Position | None, Position | None] = (None, None)

    def clear(self) -> None:
        """Take everything away."""
        self.hide_place()
        self.show_section(None, None)
        _remove(self._frame)
        self._frame = None

    def sheet_built(self, page: int) -> None:
        """Tint what a new page shows of the section."""
        start, end = self._section_ends
        if start is None:
            return
        on_page = [m.measure_index for m in self._index.measures_on(page)]
        last = self._index.last_measure if end is None else end.measure_index
        if on_page and on_page[0] <= last and on_page[-1] >= start.measure_index:
            self.show_section(start, end)

    def sheet_removed(self, page: int) -> None:
        """Take everything off a sheet that is about to leave the desk."""
        sheet = self._sheets[page]
        if self._rule is not None and self._rule.parentItem() is sheet:
            self.hide_place()
        if self._frame is not None and self._frame.parentItem() is sheet:
            _remove(self._frame)
            self._frame = None
        for band in [b for b in self._section if b.parentItem() is sheet]:
            self._section.remove(band)
            _remove(band)

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colours."""
        self._palette = palette
        if self._place is not None and self._rule is not None:
            self._place.set_colour(palette.place_wash)
            self._rule.set_palette(palette)
        if self._section_ends[0] is not None:
            self.show_section(*self._section_ends)
        if self._frame is not None:
            self._frame.setPen(_frame_pen(palette))

    # -- place -----------------------------------------------------------------------------------

    def show_place(self, placed: PlacedMeasure, x: float, confidence: float) -> None:
        """Tint the measure and stand the rule at ``x``."""
        sheet = self._sheets[placed.page]
        _repaint_where_it_is(self._place)
        _repaint_where_it_is(self._rule)
        if self._place is None or self._rule is None:
            self._place = BandItem(self._palette.place_wash, _PLACE_Z, sheet)
            self._rule = PlaceRule(self._palette, sheet)
        if self._rule.parentItem() is not sheet:
            self._place.setParentItem(sheet)
            self._rule.setParentItem(sheet)
        rect = _band_rect(placed)
        if self._place.rect() != rect:
            self._place.setRect(rect)
        box = placed.measure.box
        self._rule.stand(x, box.y, box.height, confidence)

    def hide_place(self) -> None:
        """Take the place away."""
        _remove(self._place)
        _remove(self._rule)
        self._place = self._rule = None

    # -- focus -----------------------------------------------------------------------------------

    def show_focus(self, placed: PlacedMeasure) -> None:
        """Frame the measure that has the keyboard focus."""
        sheet = self._sheets[placed.page]
        if self._frame is None:
            self._frame = QGraphicsRectItem(sheet)
            self._frame.setPen(_frame_pen(self._palette))
            self._frame.setBrush(Qt.BrushStyle.NoBrush)
            self._frame.setZValue(_FRAME_Z)
        self._frame.setParentItem(sheet)
        self._frame.setRect(_band_rect(placed).adjusted(0.15, -0.4, -0.15, 0.4))

    # -- section ---------------------------------------------------------------------------------

    def show_section(self, start: Position | None, end: Position | None) -> None:
        """Tint all measures from ``start`` up to ``end``; None for nothing."""
        for band in self._section:
            _remove(band)
        self._section = []
        self._section_ends = (start, end)
        if start is None:
            return
        last = self._index.last_measure
        if end is not None:
            last = end.measure_index if end.offset_quarters else end.measure_index - 1
        rows: dict[tuple[int, int], QRectF] = {}
        for placed in self._index.measures_between(start.measure_index, last):
            row = (placed.page, placed.measure.system)
            rect = self._cut(placed, start, end)
            rows[row] = rows[row].united(rect) if row in rows else rect
        for (page, _), rect in rows.items():
            self._tint(page, rect, self._palette.section_wash)
        if rows:
            (first_page, _), first = next(iter(rows.items()))
            (last_page, _), last_rect = list(rows.items())[-1]
            edge = QRectF(first.left(), first.top(), _EDGE, first.height())
            self._tint(first_page, edge, self._palette.section_edge)
            edge = QRectF(last_rect.right() - _EDGE, last_rect.top(), _EDGE, last_rect.height())
            self._tint(last_page, edge, self._palette.section_edge)

    def _tint(self, page: int, rect: QRectF, colour: str) -> None:
        band = BandItem(colour, _SECTION_Z, self._sheets[page])
        band.setRect(rect)
        self._section.append(band)

    def _cut(self, placed: PlacedMeasure, start: Position, end: Position | None) -> QRectF:
        """The part of a measure that is in the section."""
        rect = _band_rect(placed)
        number = placed.measure.measure_index
        if number == start.measure_index and start.offset_quarters:
            x = self._index.x_at(number, float(start.offset_quarters))
            rect.setLeft(rect.left() if x is None else x - 0.9)
        if end is not None and number == end.measure_index and end.offset_quarters:
            x = self._index.x_at(number, float(end.offset_quarters))
            rect.setRight(rect.right() if x is None else x - 0.9)
        return rect


def _band_rect(placed: PlacedMeasure) -> QRectF:
    return rect_of(placed.measure.box).adjusted(0.0, -_ABOVE_AND_BELOW, 0.0, _ABOVE_AND_BELOW)


def _frame_pen(palette: ScorePalette) -> QPen:
    pen = QPen(QColor(palette.focus), 2.0)
    pen.setCosmetic(True)
    return pen


def _repaint_where_it_is(item: QGraphicsItem | None) -> None:
    """Repaint the ground below an item that is about to move or go.

    Qt remembers where in the view it painted an item last, and loses count when the view scrolls
    between two moves: the item then stays behind as a ghost. In the scene its place is known.
    """
    if item is not None and item.scene() is not None:
        item.scene().update(item.sceneBoundingRect())


def _remove(item: QGraphicsItem | None) -> None:
    if item is not None and item.scene() is not None:
        _repaint_where_it_is(item)
        item.scene().removeItem(item)
