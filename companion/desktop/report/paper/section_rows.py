"""The table of the sections in the report: cold takes, accuracy and tempo of each."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QFontMetricsF, QPainter, QPen, QPolygonF

from companion.desktop.report.paper.lettering import (
    GRAPHITE,
    HAIRLINE,
    INK,
    TEXT,
    TINY,
    draw_text,
    elided,
    sans,
    serif,
)
from companion.desktop.report.paper.pages import MARGIN, WIDTH, Pages
from companion.desktop.report.paper.paragraphs import add_paragraph
from companion.practice.report import charts, wording
from companion.practice.report.values import ReportSection, ReportValues

_ROW = 15.5
_LINE_SCALE = 0.6  # of the charts of the page in HTML
_COLUMNS = (0.0, 122.0, 216.0, 292.0, 394.0)
_LINE_WIDTH = charts.LINE_WIDTH * _LINE_SCALE


def add_rows(pages: Pages, report: ReportValues) -> None:
    """A row for each section; the heads of the columns come again on each page."""
    scale = charts.accuracy_scale(report)
    heads = (
        "Section",
        "Stands",
        "Cold takes",
        f"Accuracy, {round(100 * scale.low)}–100 %",
        "Tempo, dashed: target",
    )

    def draw_head(painter: QPainter, top: float) -> None:
        for text, left in zip(heads, _COLUMNS, strict=True):
            draw_text(painter, QRectF(MARGIN + left, top, 130, 11), text, sans(TINY + 1), GRAPHITE)
        painter.setPen(QPen(GRAPHITE, 0.6))
        painter.drawLine(QLineF(MARGIN, top + 13, MARGIN + WIDTH, top + 13))

    pages.add(15, draw_head)
    for section in report.rows:
        if not pages.has_room(_ROW):
            pages.need(_ROW)
            pages.add(15, draw_head)

        def draw(painter: QPainter, top: float, section: ReportSection = section) -> None:
            _draw_row(painter, top, report, section, scale)

        pages.add(_ROW, draw)
    pages.gap(3)
    add_paragraph(
        pages,
        f"{wording.WHAT_A_DOT_IS} Accuracy and tempo (beats a minute) are medians of each day, "
        "both hands.",
        sans(TINY + 1),
        color=GRAPHITE,
    )


def _draw_row(
    painter: QPainter,
    top: float,
    report: ReportValues,
    section: ReportSection,
    scale: charts.Scale,
) -> None:
    indent = 10.0 * min(section.level, 3)
    room = _COLUMNS[1] - indent - 4
    name, measures = serif(TEXT + 1), sans(TINY + 1)
    taken = 0.0
    if not section.is_named_by_measures:
        taken = QFontMetricsF(measures).horizontalAdvance(section.measures) + 4
    shown = elided(section.name, name, room - taken)
    left = MARGIN + indent
    draw_text(painter, QRectF(left, top, room, _ROW - 1), shown, name)
    if taken:
        beside = left + QFontMetricsF(name).horizontalAdvance(shown) + 4
        draw_text(painter, QRectF(beside, top, taken, _ROW), section.measures, measures, GRAPHITE)
    draw_text(
        painter,
        QRectF(MARGIN + _COLUMNS[1], top, _COLUMNS[2] - _COLUMNS[1] - 4, _ROW - 1),
        wording.stands(section),
        serif(TEXT + 1),
    )
    _draw_cold(painter, MARGIN + _COLUMNS[2], top + _ROW / 2, section)
    accuracy = [(day.day, day.accuracy) for day in section.days if day.accuracy is not None]
    tempo = [
        (day.day, day.quarters_per_minute)
        for day in section.days
        if day.quarters_per_minute is not None
    ]
    _draw_line(painter, QPointF(MARGIN + _COLUMNS[3], top), accuracy, scale, None)
    own = charts.tempo_scale(report, section)
    target = section.target_quarters_per_minute
    _draw_line(painter, QPointF(MARGIN + _COLUMNS[4], top), tempo, own, target)
    for left, text in (
        (_COLUMNS[3], wording.percent(section.last_accuracy)),
        (_COLUMNS[4], wording.tempo_of_target(section)),
    ):
        rect = QRectF(MARGIN + left + _LINE_WIDTH + 3, top, 46, _ROW - 1)
        draw_text(painter, rect, text, sans(TINY + 1))
    painter.setPen(QPen(HAIRLINE, 0.5))
    painter.drawLine(QLineF(MARGIN, top + _ROW - 0.5, MARGIN + WIDTH, top + _ROW - 0.5))


def _draw_cold(painter: QPainter, left: float, middle: float, section: ReportSection) -> None:
    for number, take in enumerate(section.cold[-charts.MOST_COLD_TAKES :]):
        center = QPointF(left + 3 + 6.4 * number, middle)
        if take.clean:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(INK)
            painter.drawEllipse(center, 2.3, 2.3)
        else:
            painter.setPen(QPen(GRAPHITE, 0.7))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(center, 2.1, 2.1)
            painter.drawLine(center - QPointF(1.4, 0), center + QPointF(1.4, 0))


def _draw_line(
    painter: QPainter,
    corner: QPointF,
    values: Sequence[tuple[object, float]],
    scale: charts.Scale,
    rule: float | None,
) -> None:
    def place(day: object, value: float) -> QPointF:
        x, y = scale.place(day, value)  # type: ignore[arg-type]
        return corner + QPointF(x, y) * _LINE_SCALE

    if rule is not None:
        pen = QPen(GRAPHITE, 0.5)
        pen.setDashPattern([3, 3])
        painter.setPen(pen)
        level = place(scale.first, rule).y()
        painter.drawLine(QLineF(corner.x(), level, corner.x() + _LINE_WIDTH, level))
    points = [place(day, value) for day, value in values]
    painter.setPen(QPen(INK, 0.7))
    if len(points) > 1:
        painter.drawPolyline(QPolygonF(points))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QBrush(INK))
    for point in points:
        painter.drawEllipse(point, 1.1, 1.1)
