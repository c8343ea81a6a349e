"""What moves on top of the standing drawing of the map.

The player's place, the returns and jumps of a take, the stretch of a chosen passage, the wedge
where a section would be split, a border on its way. Each has its own shape: a return is a solid
arc that ends in an arrowhead, a jump ahead the same with dashes, an unsure place an open flag.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRect, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPolygonF

from companion.desktop.section_map.layout import (
    BAND_PIXELS,
    RETURNS_PIXELS,
    RULER_PIXELS,
    MapLayout,
)
from companion.score.model import Position

if TYPE_CHECKING:
    from companion.desktop.palette import Palette

_PLACE_HALF_WIDTH_PIXELS = 8
_ARROW_PIXELS = 3.5
_LEAST_ARC_WIDTH_PIXELS = 9.0
_LEAST_RISE_PIXELS = 4.0
_FOOT_REACH_PIXELS = 8.0


@dataclass(frozen=True, slots=True)
class Leap:
    """From where the playing broke off to where it went on."""

    start: Position
    end: Position

    @property
    def goes_back(self) -> bool:
        """True for a return, False for a jump ahead."""
        return self.end <= self.start


@dataclass(frozen=True, slots=True)
class ShownStretch:
    """The stretch of a chosen passage, up to and including the measure of ``end``."""

    start: Position
    end: Position


@dataclass(slots=True)
class Overlay:
    """All that moves; the map's widget changes it and asks for a repaint."""

    place: Position | None = None
    place_is_sure: bool = True
    leaps: tuple[Leap, ...] = ()
    chosen_leap: Leap | None = None
    stretch: ShownStretch | None = None
    cursor: Position | None = None
    dragged: tuple[Position, Position] | None = None

    def forget_piece(self) -> None:
        """Let go of everything that belongs to the piece that was shown."""
        self.place = self.cursor = self.stretch = self.chosen_leap = self.dragged = None
        self.leaps = ()

    def place_rect(self, layout: MapLayout, height: int) -> QRect:
        """The part of the widget that the place covers; empty while there is none."""
        if self.place is None:
            return QRect()
        x = round(layout.x_at(self.place))
        return QRect(x - _PLACE_HALF_WIDTH_PIXELS, 0, 2 * _PLACE_HALF_WIDTH_PIXELS, height)

    def leap_at(self, layout: MapLayout, x: float, y: float) -> Leap | None:
        """The return or jump whose foot is nearest to a point of the row above the sections."""
        if not layout.returns_foot - RETURNS_PIXELS <= y <= layout.returns_foot + 2:
            return None

        def away(leap: Leap) -> float:
            return min(abs(x - layout.x_at(leap.start)), abs(x - layout.x_at(leap.end)))

        nearest = min(self.leaps, key=away, default=None)
        return nearest if nearest is not None and away(nearest) <= _FOOT_REACH_PIXELS else None

    def paint(self, painter: QPainter, layout: MapLayout, palette: Palette) -> None:
        """Paint everything that there is."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.stretch is not None:
            _paint_stretch(painter, layout, palette, self.stretch)
        for leap in self.leaps:
            _paint_leap(painter, layout, palette, leap, chosen=leap == self.chosen_leap)
        if self.cursor is not None:
            _paint_cursor(painter, palette, layout.x_at(self.cursor))
        if self.dragged is not None:
            _paint_dragged(painter, layout, palette, layout.x_at(self.dragged[1]))
        if self.place is not None:
            x = layout.x_at(self.place)
            _paint_place(painter, layout, palette, x, sure=self.place_is_sure)


def leap_path(layout: MapLayout, leap: Leap) -> QPainterPath:
    """The arc of a leap, from where the playing broke off to where it went on."""
    start, end = layout.x_at(leap.start), layout.x_at(leap.end)
    if abs(start - end) < _LEAST_ARC_WIDTH_PIXELS:  # the same measure again: a small loop
        middle, half = (start + end) / 2, _LEAST_ARC_WIDTH_PIXELS / 2
        start, end = (middle + half, middle - half) if leap.goes_back else (start, start + 2 * half)
    foot = layout.returns_foot
    rise = min(RETURNS_PIXELS - 3.0, _LEAST_RISE_PIXELS + abs(start - end) / 40)
    path = QPainterPath(QPointF(start, foot))
    # a cubic reaches three quarters of the height of its control points
    height = foot - rise / 0.75
    path.cubicTo(QPointF(start, height), QPointF(end, height), QPointF(end, foot - 1))
    return path


def _paint_leap(
    painter: QPainter, layout: MapLayout, palette: Palette, leap: Leap, *, chosen: bool
) -> None:
    colour = QColor(palette.place if chosen else palette.graphite)
    pen = QPen(colour, 2.0 if chosen else 1.2)
    if not leap.goes_back:
        pen.setDashPattern([3.0, 2.5])
    path = leap_path(layout, leap)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPath(path)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    tip, start = path.currentPosition(), path.elementAt(0)
    painter.drawEllipse(QPointF(start.x, start.y), 1.6, 1.6)
    painter.drawPolygon(
        QPolygonF(
            [
                QPointF(tip.x() - _ARROW_PIXELS, tip.y() - _ARROW_PIXELS),
                QPointF(tip.x() + _ARROW_PIXELS, tip.y() - _ARROW_PIXELS),
                QPointF(tip.x(), tip.y() + 1.5),
            ]
        )
    )


def _paint_stretch(
    painter: QPainter, layout: MapLayout, palette: Palette, stretch: ShownStretch
) -> None:
    """A bracket under the band, with a foot at each end."""
    left = layout.x_at(stretch.start)
    right = layout.x_at(Position(stretch.end.measure_index + 1))
    y = layout.band_top + BAND_PIXELS + 2.5
    painter.setPen(QPen(QColor(palette.place), 3))
    painter.drawLine(QPointF(left + 1.5, y), QPointF(right - 1.5, y))
    painter.setPen(QPen(QColor(palette.place), 2))
    for x in (left + 1, right - 1):
        painter.drawLine(QPointF(x, y - 6), QPointF(x, y + 1))


def _paint_place(
    painter: QPainter, layout: MapLayout, palette: Palette, x: float, *, sure: bool
) -> None:
    """A line through the map with a pointed flag; while unsure dashed, and the flag open."""
    colour = QColor(palette.place)
    pen = QPen(colour, 2)
    if not sure:
        pen.setDashPattern([3.0, 2.5])
    painter.setPen(pen)
    painter.drawLine(QPointF(x, 7), QPointF(x, layout.height_pixels - 4))
    painter.setPen(Qt.PenStyle.NoPen if sure else QPen(colour, 1.5))
    painter.setBrush(colour if sure else QColor(palette.paper))
    painter.drawPolygon(QPolygonF([QPointF(x - 6, 1), QPointF(x + 6, 1), QPointF(x, 10)]))


def _paint_cursor(painter: QPainter, palette: Palette, x: float) -> None:
    """Where a section would be split: an open wedge that points at the ruler from below."""
    painter.setPen(QPen(QColor(palette.place), 1.5))
    painter.setBrush(QColor(palette.paper))
    y = RULER_PIXELS + 3.5
    painter.drawPolygon(
        QPolygonF([QPointF(x - 4, y + 7), QPointF(x + 4, y + 7), QPointF(x, y + 1)])
    )


def _paint_dragged(painter: QPainter, layout: MapLayout, palette: Palette, x: float) -> None:
    """A border on its way to another measure."""
    painter.setPen(QPen(QColor(palette.place), 2, Qt.PenStyle.DashLine))
    painter.drawLine(QPointF(x, RULER_PIXELS), QPointF(x, layout.height_pixels - 4))
