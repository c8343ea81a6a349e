"""The static print of a measure: painted once per zoom into a picture, then only copied.

Qt could keep such pictures itself, but only makes them when they come into sight. These can be made
beforehand (:meth:`InkItem.prepare`), so that a page turn while somebody plays copies pictures and
draws nothing. They live in Qt's pixmap cache, which drops the ones not used for longest.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPixmap, QPixmapCache, QTransform
from PySide6.QtWidgets import QGraphicsItem, QGraphicsRectItem

from companion.desktop.score_view.print_items import Drawn, paint_drawn

if TYPE_CHECKING:
    from collections.abc import Iterable

    from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.score.engraving.model import Line

_MARGIN_PIXELS = 2  # around a picture, for edges that are smoothed
_LARGEST_PICTURE = 4_000_000  # device pixels; a measure larger than that is painted directly
_numbers = itertools.count()


class InkItem(QGraphicsRectItem):
    """Printed shapes, with staff lines on whole device pixels when it has some.

    Parameters
    ----------
    drawn, staff_lines
        What to paint, in staff spaces.
    palette
        Its colours.
    parent
        The container it lies in.
    cached
        Keep pictures; not for printers, which want outlines.
    """

    def __init__(
        self,
        drawn: Drawn,
        staff_lines: Iterable[Line],
        palette: ScorePalette,
        parent: QGraphicsItem,
        *,
        cached: bool,
    ) -> None:
        super().__init__(parent)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemUsesExtendedStyleOption)
        self._cached = cached
        self._number = next(_numbers)
        self.setPen(QPen(Qt.PenStyle.NoPen))
        self._drawn = drawn
        self._staff_lines = [(QLineF(s.x1, s.y1, s.x2, s.y2), s.width) for s in staff_lines]
        # slurs and texts that leave the measure count too
        self._bounds = drawn.bounds
        for line, width in self._staff_lines:
            around = QRectF(line.p1(), line.p2()).adjusted(-width, -width, width, width)
            self._bounds = self._bounds.united(around)
        self.setRect(self._bounds)
        self.set_palette(palette)

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colours."""
        self._ink = QColor(palette.ink)
        self._line_ink = QColor(palette.staff_line)
        self._number = next(_numbers)  # pictures in the old colours are not found again
        self.update()

    def printed_near(self, rect: QRectF) -> Drawn:
        """What is printed in or across a rectangle of the page, staff lines left out."""
        return Drawn(
            tuple((bounds, path) for bounds, path in self._drawn.paths if bounds.intersects(rect)),
            tuple(other for other in self._drawn.rects if other.intersects(rect)),
        )

    def touches(self, rect: QRectF) -> bool:
        """Whether anything but staff lines is printed in a rectangle of the page."""
        return any(other.intersects(rect) for other in self._drawn.rects) or any(
            bounds.intersects(rect) and path.intersects(rect) for bounds, path in self._drawn.paths
        )

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,
    ) -> None:
        """Copy the picture, or paint what is exposed."""
        if self._cached:
            ratio = painter.device().devicePixelRatioF()
            world = painter.worldTransform()
            picture = self._picture(world, ratio)
            if picture is not None:
                part = self._exposed_part(world, ratio, option.exposedRect, picture)
                if part.isEmpty():
                    return
                corner = self._corner(world, ratio) + part.topLeft()
                painter.save()
                painter.resetTransform()
                painter.drawPixmap(corner / ratio, picture, part)
                painter.restore()
                return
        self._paint(painter, option.exposedRect)

    def prepare(self, world: QTransform, ratio: float) -> None:
        """Make the picture for a transform to the viewport, before it comes into sight."""
        if self._cached:
            self._picture(world, ratio)

    def _paint(self, painter: QPainter, exposed: QRectF) -> None:
        if self._staff_lines:
            _paint_staff_lines(painter, self._staff_lines, self._line_ink, exposed)
        paint_drawn(painter, self._drawn, self._ink, exposed)

    def _device_bounds(self, world: QTransform, ratio: float) -> QRectF:
        bounds = world.mapRect(self._bounds)
        return QRectF(bounds.topLeft() * ratio, bounds.size() * ratio)

    def _corner(self, world: QTransform, ratio: float) -> QPointF:
        """Upper left device pixel of the picture."""
        bounds = self._device_bounds(world, ratio)
        left = math.floor(bounds.left()) - _MARGIN_PIXELS
        return QPointF(left, math.floor(bounds.top()) - _MARGIN_PIXELS)

    def _exposed_part(
        self, world: QTransform, ratio: float, exposed: QRectF, picture: QPixmap
    ) -> QRectF:
        """The part of the picture that has to be copied, in its own device pixels.

        Where the marker moves that is a strip; Qt looks at every row of what it is given.
        """
        corner = self._corner(world, ratio)
        there = world.mapRect(exposed)
        there = QRectF(there.topLeft() * ratio - corner, there.size() * ratio)
        return QRectF(there.toAlignedRect().adjusted(-1, -1, 1, 1) & picture.rect())

    def _picture(self, world: QTransform, ratio: float) -> QPixmap | None:
        bounds = self._device_bounds(world, ratio)
        corner = self._corner(world, ratio)
        width = math.ceil(bounds.right() - corner.x()) + _MARGIN_PIXELS
        height = math.ceil(bounds.bottom() - corner.y()) + _MARGIN_PIXELS
        if width <= 0 or height <= 0 or width * height > _LARGEST_PICTURE:
            return None
        # the same place between two pixels gives the same picture, wherever it is scrolled to
        shift = bounds.topLeft() - corner
        key = f"ink {self._number} {world.m11()} {ratio} {shift.x():.3f} {shift.y():.3f}"
        picture = QPixmap()
        if QPixmapCache.find(key, picture):
            return picture
        picture = QPixmap(width, height)
        picture.setDevicePixelRatio(ratio)
        picture.fill(Qt.GlobalColor.transparent)
        painter = QPainter(picture)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        away = QTransform.fromTranslate(-corner.x() / ratio, -corner.y() / ratio)
        painter.setWorldTransform(world * away)
        self._paint(painter, self._bounds)
        painter.end()
        QPixmapCache.insert(key, picture)
        return picture


def _paint_staff_lines(
    painter: QPainter, lines: list[tuple[QLineF, float]], ink: QColor, exposed: QRectF
) -> None:
    """Fill each line as a rectangle of whole device pixels: sharp, and all of one weight."""
    ratio = painter.device().devicePixelRatioF()
    world = painter.worldTransform()
    pixels_per_space = world.m22() * ratio
    rects = []
    for line, width in lines:
        if not exposed.top() - 1 <= line.y1() <= exposed.bottom() + 1:
            continue
        thick = max(1, round(width * pixels_per_space))
        centre = world.map(line.p1()).y() * ratio
        left, right = world.map(line.p1()).x(), world.map(line.p2()).x()
        top = round(centre - thick / 2) / ratio
        rects.append(QRectF(left, top, right - left, thick / ratio))
    painter.save()
    painter.resetTransform()
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(ink)
    painter.drawRects(rects)
    painter.restore()
