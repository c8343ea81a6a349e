"""What is printed on a page: painted shapes, containers, noteheads.

A page holds its systems and a system its measures and noteheads, each container promising that
its children stay inside it, so that a small repaint visits few items. The unit is the staff space.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainterPath, QPen
from PySide6.QtWidgets import QGraphicsItem, QGraphicsPathItem, QGraphicsRectItem

from companion.desktop.score_view.outlines import path_of, stroked, text_path
from companion.score.engraving.model import Glyph, Line, Outline

if TYPE_CHECKING:
    from collections.abc import Iterable

    from PySide6.QtGui import QPainter

    from companion.desktop.score_view.outlines import GlyphPaths
    from companion.score.engraving.model import Box, Notehead, Shape

ROOM_FOR_MARKS = 6.0
"""Staff spaces around a system that pencil marks may use."""

_HAIR = 0.02  # an outline's stroke below this is not worth drawing
_LEVEL = 0.001  # a line that strays less than this is upright or level


def rect_of(box: Box, grow: float = 0.0) -> QRectF:
    """Rectangle of a box, larger by ``grow`` on all sides."""
    return QRectF(box.x - grow, box.y - grow, box.width + 2 * grow, box.height + 2 * grow)


class Drawn(NamedTuple):
    """Filled paths with their bounds, and upright rectangles (stems, bar and ledger lines).

    All strokes have been turned into outlines beforehand: stroking while painting costs many times
    the filling.
    """

    paths: tuple[tuple[QRectF, QPainterPath], ...]
    rects: tuple[QRectF, ...]

    @property
    def bounds(self) -> QRectF:
        """Bounds of everything."""
        whole = QRectF()
        for bounds, _ in self.paths:
            whole = whole.united(bounds)
        for rect in self.rects:
            whole = whole.united(rect)
        return whole


def drawn_shapes(shapes: Iterable[Shape], glyphs: GlyphPaths) -> Drawn:
    """Make what is to be painted for shapes."""
    paths, rects = [], []
    for shape in shapes:
        if isinstance(shape, Line) and not shape.gap and (rect := _upright_rect(shape)) is not None:
            rects.append(rect)
            continue
        paths += [(path.controlPointRect(), path) for path in _paths(shape, glyphs)]
    return Drawn(tuple(paths), tuple(rects))


def _upright_rect(line: Line) -> QRectF | None:
    half = line.width / 2
    rect = QRectF(line.x1, line.y1, line.x2 - line.x1, line.y2 - line.y1).normalized()
    if rect.width() < _LEVEL:
        return rect.adjusted(-half, 0.0, half, 0.0)
    if rect.height() < _LEVEL:
        return rect.adjusted(0.0, -half, 0.0, half)
    return None


def _paths(shape: Shape, glyphs: GlyphPaths) -> list[QPainterPath]:
    """Fillings of a shape; fill and stroke stay apart, since opposite turns would make holes."""
    if isinstance(shape, Glyph):
        return [glyphs.placed(shape)]
    if isinstance(shape, Line):
        path = QPainterPath()
        path.moveTo(shape.x1, shape.y1)
        path.lineTo(shape.x2, shape.y2)
        return [stroked(path, shape.width, shape.dash, shape.gap, round_ends=shape.round_ends)]
    if isinstance(shape, Outline):
        path = path_of(shape.commands)
        width, filled = shape.stroke_width, shape.filled
    else:
        path, width = text_path(shape, glyphs)
        filled = True
    paths = [path] if filled else []
    if width > _HAIR:
        paths.append(stroked(path, width, round_ends=filled))
    return paths


def paint_drawn(painter: QPainter, drawn: Drawn, ink: QColor, exposed: QRectF) -> None:
    """Paint what touches the exposed part."""
    brush = QBrush(ink)
    for bounds, path in drawn.paths:
        if bounds.intersects(exposed):
            painter.fillPath(path, brush)
    rects = [rect for rect in drawn.rects if rect.intersects(exposed)]
    if rects:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(brush)
        painter.drawRects(rects)


class ContainerItem(QGraphicsRectItem):
    """Draws nothing and keeps its children inside its bounds.

    Like all items here it takes its bounds from Qt's own rectangle item: a repaint asks hundreds of
    items for their bounds, and each answer from Python would cost as much as painting a note.
    """

    def __init__(self, bounds: QRectF, parent: QGraphicsItem) -> None:
        super().__init__(bounds, parent)
        self.setPen(QPen(Qt.PenStyle.NoPen))
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemHasNoContents)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemContainsChildrenInShape)


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
