"""Minutes of playing by weeks, in the report."""

from __future__ import annotations

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter, QPen

from companion.desktop.report.paper.lettering import (
    GRAPHITE,
    INK,
    SHADING,
    TINY,
    draw_text,
    sans,
)
from companion.desktop.report.paper.pages import MARGIN, WIDTH, Pages
from companion.practice.report import wording
from companion.practice.report.values import ReportValues

_MOST_WEEKS = 26


def add_weeks(pages: Pages, report: ReportValues) -> None:
    """A column for each of the last weeks, half a year at most."""
    weeks = report.weeks[-_MOST_WEEKS:]
    most = max([60.0, *(minutes for _, minutes in weeks)])
    step = min(36.0, WIDTH / max(1, len(weeks)))

    def draw(painter: QPainter, top: float) -> None:
        foot = top + 46
        for number, (monday, minutes) in enumerate(weeks):
            left, height = MARGIN + number * step, 34 * minutes / most
            painter.setPen(QPen(GRAPHITE, 0.5))
            painter.setBrush(SHADING)
            painter.drawRect(QRectF(left, foot - height, step * 0.62, height))
            above = QRectF(left, foot - height - 10, step, 9)
            draw_text(painter, above, f"{round(minutes)}", sans(TINY), INK)
            if step > 26 or number % 2 == 0:
                below = QRectF(left, foot + 1, step * 2, 9)
                draw_text(painter, below, wording.short_day(monday), sans(TINY), GRAPHITE)

    pages.add(58, draw)
