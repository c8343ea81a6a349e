"""Pages that are filled from the top, and drawn on any device.

Lengths are points of an A4 page. A page is a list of things to draw, so that the same layout serves
a printer, a PDF and the preview.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from PySide6.QtGui import QPainter

PAGE_WIDTH, PAGE_HEIGHT = 595.0, 842.0  # A4 in points (ISO 216: 210 x 297 mm)
MARGIN, TOP, BOTTOM = 42.0, 40.0, 40.0
WIDTH = PAGE_WIDTH - 2 * MARGIN
END = PAGE_HEIGHT - BOTTOM

Draw = Callable[[QPainter], None]


@dataclass(slots=True)
class Pages:
    """Pages being filled from the top: what is to be drawn on each, and how far the last one is."""

    drawn: list[list[Draw]] = field(default_factory=lambda: [[]])
    y: float = TOP

    def need(self, height: float) -> None:
        """Begin another page unless there is room."""
        if not self.has_room(height):
            self.drawn.append([])
            self.y = TOP

    def add(self, height: float, draw: Callable[[QPainter, float], None]) -> None:
        """Put something below what is there; ``draw`` gets its top."""
        self.need(height)
        top = self.y
        self.drawn[-1].append(lambda painter: draw(painter, top))
        self.y += height

    def has_room(self, height: float) -> bool:
        """Whether there is room below what is there."""
        return self.y + height <= END

    def gap(self, height: float) -> None:
        """Leave some room."""
        self.y += height


def draw_page(painter: QPainter, page: Sequence[Draw], width: float, height: float) -> None:
    """Draw a page as large as it fits into a space of this size, in the painter's units."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    scale = min(width / PAGE_WIDTH, height / PAGE_HEIGHT)
    painter.scale(scale, scale)
    for draw in page:
        painter.save()
        draw(painter)
        painter.restore()
    painter.restore()
