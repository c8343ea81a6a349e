"""Single drawn elements of the engraver's SVG as shapes, and the bounds of shapes."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from companion.score.engraving.model import Box, Glyph, Line, Outline, Shape, TextAnchor
from companion.score.engraving.paths import (
    Matrix,
    bounds,
    ellipse_path,
    numbers,
    parse_path,
    parse_transform,
    polygon_path,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lxml.etree import _Element as Element

    from companion.score.engraving.model import PathCommand

NO_BOX = Box(0.0, 0.0, 0.0, 0.0)

_LINK = "{http://www.w3.org/1999/xlink}href"
_NUMBER = r"(-?\d+(?:\.\d+)?)"
# fast ways for the two forms that make up nearly the whole page
_USUAL_PLACE = re.compile(rf"translate\({_NUMBER}, {_NUMBER}\) scale\({_NUMBER}, {_NUMBER}\)")
_STRAIGHT = re.compile(rf"M{_NUMBER} {_NUMBER} L{_NUMBER} {_NUMBER}")


def read_shape(name: str, element: Element, matrix: Matrix) -> Shape | None:
    """Read an SVG element by its name; None for one that draws nothing."""
    if name == "use":
        return _glyph(element, matrix)
    stroke = float(element.get("stroke-width") or 0.0) * matrix.size
    if name == "path":
        return _path(element, matrix, stroke)
    if name in ("polygon", "polyline"):
        points = numbers(element.get("points") or "")
        commands = polygon_path(points, matrix, closed=name == "polygon")
        return Outline(commands, stroke, _filled(element))
    if name == "rect":
        x, y, width, height = (_number(element, key) for key in ("x", "y", "width", "height"))
        corners = [x, y, x + width, y, x + width, y + height, x, y + height]
        return Outline(polygon_path(corners, matrix, closed=True), stroke, _filled(element))
    if name == "ellipse":
        x, y, radius_x, radius_y = (_number(element, key) for key in ("cx", "cy", "rx", "ry"))
        return Outline(ellipse_path(x, y, radius_x, radius_y, matrix), stroke, _filled(element))
    return None


def _glyph(element: Element, matrix: Matrix) -> Glyph:
    transform = element.get("transform") or ""
    usual = _USUAL_PLACE.fullmatch(transform)
    if usual is not None and not matrix.b and not matrix.c:
        x, y, scale_x, scale_y = map(float, usual.groups())
        place = Matrix(
            matrix.a * scale_x,
            0.0,
            0.0,
            matrix.d * scale_y,
            matrix.a * x + matrix.e,
            matrix.d * y + matrix.f,
        )
    else:
        place = matrix.after(parse_transform(transform))
    code = (element.get(_LINK) or "").removeprefix("#").partition("-")[0]
    # the outline is kept in staff spaces already: 250 design units each
    a, b, c, d = place.a * 250, place.b * 250, place.c * 250, place.d * 250
    # matrices of one size shall be equal, so that their paths can be shared
    return Glyph(code, round(a, 4), round(b, 4), round(c, 4), round(d, 4), place.e, place.f)


def _path(element: Element, matrix: Matrix, stroke: float) -> Shape:
    straight = _STRAIGHT.fullmatch(element.get("d") or "")
    if straight is not None and "transform" not in element.attrib:
        numbers_there = [float(number) for number in straight.groups()]
        x1, y1 = matrix.point(numbers_there[0], numbers_there[1])
        x2, y2 = matrix.point(numbers_there[2], numbers_there[3])
        dashes = numbers(element.get("stroke-dasharray") or "0 0")
        dash, gap = dashes[0] * matrix.size, dashes[-1] * matrix.size
        round_ends = element.get("stroke-linecap") == "round"
        return Line(x1, y1, x2, y2, stroke, dash, gap, round_ends)
    place = matrix.after(parse_transform(element.get("transform") or ""))
    commands = parse_path(element.get("d") or "", place)
    return Outline(commands, stroke, _filled(element))


def _filled(element: Element) -> bool:
    return element.get("fill") not in ("none", "transparent") and element.get("fill-opacity") != "0"


def _number(element: Element, name: str) -> float:
    return float(element.get(name) or 0.0)


def outline_boxes(outlines: Mapping[str, tuple[PathCommand, ...]]) -> dict[str, Box]:
    """Bounds of each glyph at normal size."""
    boxes = {}
    for code, commands in outlines.items():
        left, top, right, bottom = bounds(commands)
        boxes[code] = Box(left, top, right - left, bottom - top)
    return boxes


def shape_box(shape: Shape, glyph_boxes: Mapping[str, Box]) -> Box:
    """Bounds of a shape; control points count, and text is guessed from its letters."""
    if isinstance(shape, Line):
        left, right = sorted((shape.x1, shape.x2))
        top, bottom = sorted((shape.y1, shape.y2))
        half = shape.width / 2
        return Box(left - half, top - half, right - left + shape.width, bottom - top + shape.width)
    if isinstance(shape, Outline):
        left, top, right, bottom = bounds(shape.commands)
        return Box(left, top, right - left, bottom - top)
    if isinstance(shape, Glyph):
        matrix = Matrix(shape.a, shape.b, shape.c, shape.d, shape.x, shape.y)
        box = glyph_boxes.get(shape.code, NO_BOX)
        if not shape.b and not shape.c and shape.a > 0 and shape.d > 0:
            x, y = matrix.point(box.x, box.y)
            return Box(x, y, box.width * shape.a, box.height * shape.d)
        corners = [matrix.point(x, y) for x in (box.x, box.right) for y in (box.y, box.bottom)]
        xs, ys = [x for x, _ in corners], [y for _, y in corners]
        return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))
    size = max((run.size for run in shape.runs), default=0.0)
    width = sum(run.advance or 0.5 * run.size * len(run.text) for run in shape.runs)
    share = {TextAnchor.START: 0.0, TextAnchor.MIDDLE: 0.5, TextAnchor.END: 1.0}[shape.anchor]
    return Box(shape.x - share * width, shape.y - 0.8 * size, width, size)
