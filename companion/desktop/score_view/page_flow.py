"""Where the sheets lie on the desk: one below the other, or two beside each other when wide."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import TYPE_CHECKING

from companion.score.engraving.model import Box

if TYPE_CHECKING:
    from collections.abc import Sequence

GAP = 3.0
"""Desk between and around the sheets, in staff spaces."""

MIN_PIXELS_PER_SPACE = 3
MAX_PIXELS_PER_SPACE = 60


class Fit(StrEnum):
    """What the zoom keeps to while the window changes its size."""

    WIDTH = "width"
    PAGE = "page"
    FREE = "free"


def lay_out(sizes: Sequence[tuple[float, float]], columns: int) -> list[Box]:
    """Boxes of all sheets in staff spaces, row by row."""
    boxes: list[Box] = []
    y = GAP
    for start in range(0, len(sizes), columns):
        row = sizes[start : start + columns]
        x = GAP
        for width, height in row:
            boxes.append(Box(x, y, width, height))
            x += width + GAP
        y += max(height for _, height in row) + GAP
    return boxes


def extent(boxes: Sequence[Box]) -> tuple[float, float]:
    """Width and height of the desk that holds all sheets."""
    if not boxes:
        return 0.0, 0.0
    return max(b.right for b in boxes) + GAP, max(b.bottom for b in boxes) + GAP


def fitting_pixels_per_space(
    fit: Fit, page: tuple[float, float], columns: int, view: tuple[float, float]
) -> float:
    """Device pixels that a staff space may have so that the sheets fit; not rounded yet."""
    across = page[0] * columns + GAP * (columns + 1)
    wide = view[0] / across
    if fit is Fit.WIDTH:
        return wide
    return min(wide, view[1] / (page[1] + 2 * GAP))


def whole_pixels(pixels_per_space: float) -> int:
    """Largest whole number of device pixels not above the wish: keeps staff lines sharp."""
    return max(MIN_PIXELS_PER_SPACE, min(MAX_PIXELS_PER_SPACE, math.floor(pixels_per_space)))
