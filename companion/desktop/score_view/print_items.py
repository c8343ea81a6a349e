"""The printed part of a page as scene items: sheet, systems, measures, noteheads.

A page holds its systems and a system its measures and noteheads, each container promising that
its children stay inside it, so that a small repaint visits few items. The unit is the staff space.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainterPath, QPen
from PySide6.QtWidgets import QGraphicsItem, QGraphicsPathItem

from companion.desktop.score_view.outlines import path_of, text_path
from companion.score.engraving_model import Glyph, Line, Outline, Text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from PySide6.QtGui import QPainter
    from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

    from companion.desktop.score_view.outlines import GlyphPaths
    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.score.engraving_model import Box, EngravedMeasure, Notehead, Shape

ROOM_FOR_MARKS = 6.0
"""Staff spaces around a system that pencil marks may use."""

_HAIR = 0.02  # an outline's stroke below this is not worth a pen


def rect_of(box: Box, grow: float = 0.0) -> QRectF:
    """Rectangle of a box, larger by ``grow`` on all sides."""
    return QRectF(box.x - grow, box.y - grow, box.width + 2 * grow, box.height + 2 * grow)


class Drawn(NamedTuple):
    """One painted path: filled, stroked or both."""

    bounds: QRectF
    path: QPainterPath
    stroke: float
    filled: bool
    round_ends: bool = False
    dashes: tuple[float, float] = (0.0, 0.0)


def drawn_shapes(shapes: Iterable[Shape], glyphs: GlyphPaths) -> list[Drawn]:
    """Make the painter paths of shapes."""
    return [_drawn(shape, glyphs) for shape in shapes]


def _drawn(shape: Shape, glyphs: GlyphPaths) -> Drawn:
    if isinstance(shape, Glyph):
        path = glyphs.placed(shape)
        return Drawn(path.controlPointRect(), path, 0.0, filled=True)
    if isinstance(shape, Line):
        path = QPainterPath()
        path.moveTo(shape.x1, shape.y1)
        path.lineTo(shape.x2, shape.y2)
        half = shape.width / 2
        bounds = path.controlPointRect().adjusted(-half, -half, half, half)
        dashes = (shape.dash, shape.gap)
        return Drawn(bounds, path, shape.width, False, shape.round_ends, dashes)
    if isinstance(shape, Outline):
        path = path_of(shape.commands)
        half = shape.stroke_width / 2
        bounds = path.controlPointRect().adjusted(-half, -half, half, half)
        return Drawn(bounds, path, shape.stroke_width, shape.filled, round_ends=True)
    path, bolder = text_path(shape, glyphs)
    half = bolder / 2
    bounds = path.controlPointRect().adjusted(-half, -half, half, half)
    return Drawn(bounds, path, bolder, filled=True, round_ends=True)


def paint_drawn(painter: QPainter, drawn: Iterable[Drawn], ink: QColor, exposed: QRectF) -> None:
    """Paint what touches the exposed part."""
    brush = QBrush(ink)
    for one in drawn:
        if not one.bounds.intersects(exposed):
            continue
        if one.stroke > _HAIR:
            painter.strokePath(one.path, _pen(one, ink))
        if one.filled:
            painter.fillPath(one.path, brush)


def _pen(one: Drawn, ink: QColor) -> QPen:
    pen = QPen(ink, one.stroke)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin if one.round_ends else Qt.PenJoinStyle.MiterJoin)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap if one.round_ends else Qt.PenCapStyle.FlatCap)
    dash, gap = one.dashes
    if gap:
        pen.setDashPattern([max(dash, 0.01) / one.stroke, gap / one.stroke])
    return pen


class ContainerItem(QGraphicsItem):
    """Draws nothing and keeps its children inside its bounds."""

    def __init__(self, bounds: QRectF, parent: QGraphicsItem | None = None) -> None:
        super().__init__(parent)
        self._bounds = bounds
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemHasNoContents)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemContainsChildrenInShape)

    def boundingRect(self) -> QRectF:
        """Bounds of all children."""
        return self._bounds

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,
    ) -> None:
        """Nothing of its own."""


class InkItem(QGraphicsItem):
    """Printed shapes, with staff lines on whole device pixels when it has some."""

    def __init__(
        self,
        drawn: list[Drawn],
        staff_lines: Iterable[Line],
        palette: ScorePalette,
        parent: QGraphicsItem,
    ) -> None:
        super().__init__(parent)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemUsesExtendedStyleOption)
        self._drawn = drawn
        self._staff_lines = [(QLineF(s.x1, s.y1, s.x2, s.y2), s.width) for s in staff_lines]
        self._bounds = QRectF()
        for one in drawn:
            self._bounds = self._bounds.united(one.bounds)
        for line, width in self._staff_lines:
            around = QRectF(line.p1(), line.p2()).adjusted(-width, -width, width, width)
            self._bounds = self._bounds.united(around)
        self.set_palette(palette)

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colours."""
        self._ink = QColor(palette.ink)
        self._line_ink = QColor(palette.staff_line)
        self.update()

    def boundingRect(self) -> QRectF:
        """Bounds of all shapes, slurs and texts that leave the measure included."""
        return self._bounds

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,
    ) -> None:
        """Staff lines first, then the shapes that are exposed."""
        exposed: QRectF = option.exposedRect
        if self._staff_lines:
            _paint_staff_lines(painter, self._staff_lines, self._line_ink, exposed)
        paint_drawn(painter, self._drawn, self._ink, exposed)


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


def measure_item(
    measure: EngravedMeasure, glyphs: GlyphPaths, palette: ScorePalette, parent: QGraphicsItem
) -> InkItem:
    """Everything printed in one measure apart from its noteheads."""
    drawn = drawn_shapes(measure.shapes, glyphs)
    return InkItem(drawn, measure.staff_lines, palette, parent)


def heading_item(
    heading: Iterable[Text], glyphs: GlyphPaths, palette: ScorePalette, parent: QGraphicsItem
) -> InkItem:
    """Title and composer."""
    return InkItem(drawn_shapes(heading, glyphs), (), palette, parent)


class NoteheadItem(QGraphicsPathItem):
    """One notehead; drawn by Qt itself from a path that it shares with its like."""

    def __init__(
        self, head: Notehead, glyphs: GlyphPaths, ink: QColor, parent: QGraphicsItem
    ) -> None:
        first = head.glyphs[0]
        path = glyphs.shaped(first)
        for other in head.glyphs[1:]:
            path = QPainterPath(path)
            path.addPath(glyphs.shaped(other).translated(other.x - first.x, other.y - first.y))
        super().__init__(path, parent)
        self.setPos(first.x, first.y)
        self.setPen(QPen(Qt.PenStyle.NoPen))
        self.setBrush(ink)
