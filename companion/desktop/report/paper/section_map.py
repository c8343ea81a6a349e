"""The map of the sections in the report: how the piece is built, and how each section stands."""

from __future__ import annotations

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from companion.desktop.report.paper.lettering import (
    ATTENTION,
    GRAPHITE,
    INK,
    SHADING,
    SMALL,
    TINY,
    draw_name,
)
from companion.desktop.report.paper.pages import MARGIN, WIDTH, Pages
from companion.history.knowing.known import State
from companion.practice.report import charts
from companion.practice.report.values import ReportSection, ReportValues

_LEVELS = 3  # of groups of sections that are drawn
_LEVEL_HEIGHT = 14


def add_map(pages: Pages, report: ReportValues) -> None:
    """Groups of sections as brackets, the finest sections as boxes below them."""
    leaves = {section.section_id for section in report.leaves}
    groups = [s for s in report.sections if s.section_id not in leaves and s.level < _LEVELS]
    levels = max((section.level + 1 for section in groups), default=0)
    scale = WIDTH / max(1, report.measure_count)
    pages.add(
        levels * _LEVEL_HEIGHT + 36,
        lambda painter, top: _draw_map(painter, top, report, scale, levels),
    )


def _draw_map(
    painter: QPainter, top: float, report: ReportValues, scale: float, levels: int
) -> None:
    leaves = {section.section_id for section in report.leaves}
    for section in report.sections:
        left = MARGIN + section.from_measure_index * scale
        width = max(1, section.to_measure_index - section.from_measure_index) * scale
        if section.section_id in leaves:
            _draw_leaf(
                painter, section, QRectF(left, top + levels * _LEVEL_HEIGHT, width - 1.2, 13)
            )
        elif section.level < _LEVELS:
            y = top + section.level * _LEVEL_HEIGHT
            painter.setPen(QPen(GRAPHITE, 0.6))
            right = left + width - 1
            corners = ((left, y + 12), (left, y + 10), (right, y + 10), (right, y + 12))
            painter.drawPolyline(QPolygonF([QPointF(*corner) for corner in corners]))
            draw_name(painter, QRectF(left, y, width - 2, 10), section.name, SMALL - 1, INK)


def _draw_leaf(painter: QPainter, section: ReportSection, box: QRectF) -> None:
    painter.setPen(QPen(GRAPHITE, 0.6))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if section.state is State.KNOWN:
        painter.setBrush(SHADING)
    painter.drawRect(box)
    if section.state is State.LAPSED:
        _hatch(painter, box)
    elif section.state is State.LEARNING and section.days_to_know:
        share = section.clean_days / section.days_to_know
        painter.fillRect(QRectF(box.left(), box.bottom() - 3.2, box.width() * share, 3.2), GRAPHITE)
    below = QRectF(box.left(), box.bottom() + 1, box.width(), 9)
    draw_name(painter, below, section.name, TINY + 1, INK)
    draw_name(painter, below.translated(0, 9), charts.short_standing(section), TINY, GRAPHITE)


def _hatch(painter: QPainter, box: QRectF) -> None:
    """Strokes drawn one by one: a pattern brush would be a picture in a PDF."""
    painter.save()
    painter.setClipRect(box)
    painter.setPen(QPen(ATTENTION, 0.9))
    x = box.left() - box.height()
    while x < box.right():
        painter.drawLine(QLineF(x, box.bottom(), x + box.height(), box.top()))
        x += 4
    painter.restore()
