"""Three small charts of a section over the days: accuracy, tempo, takes.

They need no legend: each line is named where it ends, the target is written on its rule. A filled
dot is the median of the day, an open ring its first take (the cold one), a thin stem reaches to the
best. Days stand on a common scale, so that a week without practice is seen as a gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QHelpEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from companion.desktop import tips, typography
from companion.desktop.dates import short_day
from companion.desktop.days import wording
from companion.desktop.palette import Palette

_TOP, _BOTTOM, _LEFT, _RIGHT = 30.0, 22.0, 0.0, 40.0
_DOT = 3.6


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartPoint:
    """One day in a chart; ``sentence`` is its tooltip."""

    day: date
    value: float
    best: float | None = None
    first: float | None = None
    sentence: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartSeries:
    """What one chart shows.

    Parameters
    ----------
    title, unit
        Written above the chart.
    points
        In rising order of day.
    low, high
        Values at the lower and upper edge of the field.
    rule, rule_text
        A level to compare with (the target) and its name.
    as_columns
        Draw columns from the lower edge (counts) instead of dots.
    """

    title: str
    unit: str
    points: tuple[ChartPoint, ...]
    low: float
    high: float
    rule: float | None = None
    rule_text: str = ""
    as_columns: bool = False
    as_percent: bool = False

    def value_text(self, value: float) -> str:
        """A value as it is written in the chart."""
        return wording.percent(value) if self.as_percent else str(round(value))


class DayChart(QWidget):
    """A chart over days, painted in the manner of a printed figure."""

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._palette = palette
        self._series: ChartSeries | None = None
        self._first, self._last = date.min, date.min
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)

    def sizeHint(self) -> QSize:
        """Wide enough for two weeks."""
        return QSize(300, 158)

    def minimumSizeHint(self) -> QSize:
        """Small enough for three beside each other in a small window."""
        return QSize(180, 158)

    def set_palette(self, palette: Palette) -> None:
        """Draw in other colours from now on."""
        self._palette = palette
        self.update()

    def show_series(self, series: ChartSeries, first: date, last: date) -> None:
        """Show a series on an axis from ``first`` to ``last``."""
        self._series, self._first, self._last = series, first, last
        self.setAccessibleName(series.title)
        self.setAccessibleDescription(
            "; ".join(point.sentence for point in series.points) or wording.tr("nothing played yet")
        )
        self.update()

    def x_at(self, day: date) -> float:
        """Middle of a day along the chart."""
        days = max(1, (self._last - self._first).days + 1)
        width = self.width() - _LEFT - _RIGHT
        return _LEFT + ((day - self._first).days + 0.5) * width / days

    def y_at(self, value: float) -> float:
        """Height of a value, clipped to the field."""
        if self._series is None:
            return 0.0
        low, high = self._series.low, self._series.high
        share = min(1.0, max(0.0, (value - low) / (high - low))) if high > low else 0.0
        field = self.height() - _TOP - _BOTTOM
        return _TOP + (1.0 - share) * field

    def point_near(self, x: float) -> ChartPoint | None:
        """The point whose day lies nearest to a place, within reach of a pointer."""
        if self._series is None or not self._series.points:
            return None
        nearest = min(self._series.points, key=lambda point: abs(self.x_at(point.day) - x))
        return nearest if abs(self.x_at(nearest.day) - x) < 14 else None

    def event(self, event: QEvent) -> bool:
        """Show the figures of a day under the pointer."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            point = self.point_near(event.pos().x())
            tips.show(event.globalPos(), point.sentence if point else "", self)
            return True
        return super().event(event)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the figure."""
        if self._series is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_title(painter, self._series)
        self._paint_axis(painter)
        if not self._series.points:
            self._paint_nothing(painter)
            return
        self._paint_rule(painter, self._series)
        if self._series.as_columns:
            self._paint_columns(painter, self._series)
        else:
            self._paint_dots(painter, self._series)
        self._paint_last_value(painter, self._series)
        self._paint_low(painter, self._series)
        if self.hasFocus():
            painter.setPen(QPen(QColor(self._palette.place), 1, Qt.PenStyle.DotLine))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))

    def _paint_title(self, painter: QPainter, series: ChartSeries) -> None:
        painter.setFont(typography.sans(typography.TEXT_POINTS, bold=True))
        painter.setPen(QColor(self._palette.ink))
        painter.drawText(QPointF(_LEFT, 13), series.title)
        offset = QFontMetricsF(painter.font()).horizontalAdvance(series.title + "  ")
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        painter.setPen(QColor(self._palette.graphite))
        room = QRectF(_LEFT + offset, 0, self.width() - _LEFT - offset, 18)
        unit = QFontMetricsF(painter.font()).elidedText(
            series.unit, Qt.TextElideMode.ElideRight, room.width()
        )
        painter.drawText(QPointF(room.left(), 13), unit)

    def _paint_axis(self, painter: QPainter) -> None:
        base = self.height() - _BOTTOM + 3
        right = self.width() - _RIGHT
        painter.setPen(QPen(QColor(self._palette.hairline), 1))
        painter.drawLine(QPointF(_LEFT, base), QPointF(right, base))
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        metrics = QFontMetricsF(painter.font())
        painter.setPen(QColor(self._palette.graphite))
        first, last = short_day(self._first), short_day(self._last)
        painter.drawText(QPointF(_LEFT, base + 15), first)
        if self._last > self._first:
            painter.drawText(QPointF(right - metrics.horizontalAdvance(last), base + 15), last)

    def _paint_nothing(self, painter: QPainter) -> None:
        painter.setFont(typography.serif(typography.SERIF_POINTS, italic=True))
        painter.setPen(QColor(self._palette.graphite))
        field = QRectF(_LEFT, _TOP, self.width() - _LEFT - _RIGHT, self.height() - _TOP - _BOTTOM)
        painter.drawText(field, Qt.AlignmentFlag.AlignCenter, wording.tr("not played yet"))

    def _paint_rule(self, painter: QPainter, series: ChartSeries) -> None:
        if series.rule is None:
            return
        y = self.y_at(series.rule)
        painter.setPen(QPen(QColor(self._palette.graphite), 1, Qt.PenStyle.DotLine))
        painter.drawLine(QPointF(_LEFT, y), QPointF(self.width() - _RIGHT, y))
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        metrics = QFontMetricsF(painter.font())
        end = _LEFT + metrics.horizontalAdvance(series.rule_text) + _DOT
        near = [
            self.y_at(value)
            for point in series.points
            if self.x_at(point.day) <= end
            for value in (point.value, point.first, point.best)
            if value is not None
        ]
        in_the_way = any(y - metrics.height() - _DOT < other < y + _DOT for other in near)
        below = y + metrics.ascent() + 2
        painter.drawText(QPointF(_LEFT, below if in_the_way else y - 4), series.rule_text)

    def _paint_low(self, painter: QPainter, series: ChartSeries) -> None:
        """Say where the scale begins, where that is not nought."""
        if not series.low:
            return
        painter.setPen(QColor(self._palette.graphite))
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        y = self.height() - _BOTTOM + 3
        painter.drawText(QPointF(self.width() - _RIGHT + 4, y + 3), series.value_text(series.low))

    def _paint_dots(self, painter: QPainter, series: ChartSeries) -> None:
        colour = QColor(self._palette.place)
        points = [QPointF(self.x_at(p.day), self.y_at(p.value)) for p in series.points]
        painter.setPen(QPen(colour, 1.2))
        painter.drawPolyline(points)
        for point, at in zip(series.points, points, strict=True):
            if point.best is not None:
                painter.setPen(QPen(colour, 1))
                best = QPointF(at.x(), self.y_at(point.best))
                painter.drawLine(at, best)
                painter.drawLine(best + QPointF(-3, 0), best + QPointF(3, 0))
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(colour)
            painter.drawEllipse(at, _DOT, _DOT)
            if point.first is not None and abs(point.first - point.value) > 1e-9:
                painter.setPen(QPen(colour, 1.2))
                painter.setBrush(QColor(self._palette.sheet))
                painter.drawEllipse(QPointF(at.x(), self.y_at(point.first)), _DOT, _DOT)
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _paint_columns(self, painter: QPainter, series: ChartSeries) -> None:
        days = max(1, (self._last - self._first).days + 1)
        width = min(16.0, max(2.0, (self.width() - _LEFT - _RIGHT) / days * 0.6))
        base = self.height() - _BOTTOM + 3
        for point in series.points:
            x, top = self.x_at(point.day), self.y_at(point.value)
            painter.fillRect(
                QRectF(x - width / 2, top, width, base - top), QColor(self._palette.graphite)
            )

    def _paint_last_value(self, painter: QPainter, series: ChartSeries) -> None:
        last = series.points[-1]
        painter.setPen(QColor(self._palette.ink))
        x = self.width() - _RIGHT + 4
        text = series.value_text(last.value)
        painter.setFont(typography.sans(typography.SMALL_POINTS, bold=True))
        painter.drawText(QPointF(x, self.y_at(last.value) + 4), text)
