"""Where there is room for signs above or below the notes of a system, as close as may be.

All print around the notes is taken as small rectangles: a slur or a beam in short pieces, so that
a sign can stand in its curve. A sign starts at its note and moves outwards until it touches
nothing.

Conventions
-----------
- Rectangles are (left, top, right, bottom) in staff spaces of the page.
- A :class:`Room` knows one direction only, upwards. Who looks for room below a staff turns the
  page upside down (:func:`turned`).
"""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise
from math import ceil, floor
from typing import TYPE_CHECKING, NamedTuple

from companion.score.engraving.model import Line, Outline
from companion.score.engraving.shapes import shape_box

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from companion.score.engraving.model import Box, PathCommand, Shape

_PIECE = 0.8  # length of the pieces of a beam or slur
_STEPS_OF_A_CURVE = 12
_FARTHEST = 14.0  # a sign that finds no room nearer than that stays where it began


class Rect(NamedTuple):
    """An upright rectangle by its edges."""

    left: float
    top: float
    right: float
    bottom: float


def turned(rect: Rect) -> Rect:
    """The rectangle on a page that stands upside down; its own inverse."""
    return Rect(rect.left, -rect.bottom, rect.right, -rect.top)


def rect_of_box(box: Box) -> Rect:
    """A box by its edges."""
    return Rect(box.x, box.y, box.right, box.bottom)


def pieces_of(shape: Shape, glyph_boxes: Mapping[str, Box]) -> Iterator[Rect]:
    """The rectangles that a shape covers."""
    if isinstance(shape, Outline):
        for x, y, next_x, next_y in _edges(shape.commands):
            yield from _along(x, y, next_x, next_y)
    elif isinstance(shape, Line):
        yield from _along(shape.x1, shape.y1, shape.x2, shape.y2)
    else:
        yield rect_of_box(shape_box(shape, glyph_boxes))


def _along(x: float, y: float, next_x: float, next_y: float) -> Iterator[Rect]:
    """A straight stroke in pieces."""
    count = max(1, ceil(abs(next_x - x) / _PIECE))
    points = [
        (x + (next_x - x) * part / count, y + (next_y - y) * part / count)
        for part in range(count + 1)
    ]
    for (one_x, one_y), (other_x, other_y) in pairwise(points):
        yield Rect(
            min(one_x, other_x), min(one_y, other_y), max(one_x, other_x), max(one_y, other_y)
        )


def _edges(commands: Iterable[PathCommand]) -> Iterator[tuple[float, float, float, float]]:
    """The straight edges of a path, curves in short ones."""
    x = y = begin_x = begin_y = 0.0
    for command, numbers in commands:
        if command == "M":
            x, y = begin_x, begin_y = numbers[0], numbers[1]
            continue
        if command == "Z":
            points = [(begin_x, begin_y)]
        elif command == "L":
            points = [(numbers[0], numbers[1])]
        else:
            points = _curve(x, y, numbers)
        for next_x, next_y in points:
            yield x, y, next_x, next_y
            x, y = next_x, next_y


def _curve(x: float, y: float, numbers: tuple[float, ...]) -> list[tuple[float, float]]:
    """Points on a quadratic or cubic curve of Bezier, without the first."""
    controls = [(x, y), *zip(numbers[::2], numbers[1::2], strict=True)]
    points = []
    for step in range(1, _STEPS_OF_A_CURVE + 1):
        share = step / _STEPS_OF_A_CURVE
        row = controls
        while len(row) > 1:  # de Casteljau
            row = [(a + (c - a) * share, b + (d - b) * share) for (a, b), (c, d) in pairwise(row)]
        points.append(row[0])
    return points


class Room:
    """What stands in the way of signs, for one system and one direction."""

    def __init__(self, rects: Iterable[Rect] = ()) -> None:
        self._by_column: dict[int, list[Rect]] = defaultdict(list)
        for rect in rects:
            self.add(rect)

    def add(self, rect: Rect) -> None:
        """Put something in the way."""
        for column in range(floor(rect.left), floor(rect.right) + 1):
            self._by_column[column].append(rect)

    def top_of(self, left: float, right: float) -> float | None:
        """The highest edge of what stands between two places; None where nothing does."""
        return min((rect.top for rect in self._between(left, right)), default=None)

    def free_bottom(self, left: float, right: float, bottom: float, height: float) -> float:
        """The lowest bottom, at ``bottom`` or above, for a sign that shall touch nothing.

        Parameters
        ----------
        left, right
            The place of the sign.
        height
            Its height, with the air that it wants below and above.
        """
        found = bottom
        moved = True
        while moved:
            moved = False
            for rect in self._between(left, right):
                if rect.top < found and rect.bottom > found - height:
                    found = rect.top
                    moved = True
            if bottom - found > _FARTHEST:
                return bottom
        return found

    def _between(self, left: float, right: float) -> Iterator[Rect]:
        for column in range(floor(left), floor(right) + 1):
            for rect in self._by_column.get(column, ()):
                if rect.left < right and rect.right > left:
                    yield rect
