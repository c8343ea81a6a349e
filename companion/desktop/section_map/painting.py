"""Draw the map: ruler, brackets, band, then lanes and strip, as a printed table would be drawn."""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from companion.desktop import typography
from companion.desktop.section_map.lane_painting import lane_steps, strip_steps
from companion.desktop.section_map.layout import (
    BAND_PIXELS,
    RULER_PIXELS,
    MapRow,
)
from companion.desktop.section_map.picture import MapPicture
from companion.score.sections.section_map import Section

_LEAST_MEASURE_FOR_TICK_PIXELS = 5.0


def paint_map(painter: QPainter, picture: MapPicture) -> None:
    """Paint everything that stands still: all that is not on the overlay."""
    for _ in map_steps(painter, picture):
        pass


def map_steps(painter: QPainter, picture: MapPicture) -> Iterator[None]:
    """Paint the same, a little more at each step: a long piece takes 30 ms in all."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _paint_selection_column(painter, picture)
    _paint_ruler(painter, picture)
    yield
    for row in picture.layout.rows:
        for section in row.sections:
            if row.is_band:
                _paint_leaf(painter, picture, section, row)
            else:
                _paint_bracket(painter, picture, section, row)
            yield
    if picture.layout.with_lanes:
        picture.tasks.paint(painter, picture.layout, picture.palette)
        yield
        yield from lane_steps(painter, picture)
        if picture.figures.depth is not None and picture.layout.with_depth:
            yield from picture.figures.depth.steps(painter, picture.layout, picture.palette)
        if picture.layout.with_errors:
            yield from strip_steps(painter, picture)


def _paint_selection_column(painter: QPainter, picture: MapPicture) -> None:
    layout = picture.layout
    if not layout.with_lanes or not picture.figures.any_take:
        return  # there is nothing below the section that it could hold together
    for row in layout.rows:
        for section in row.sections:
            if section.section_id == picture.selected_id:
                rect = layout.rect_of(section, row)
                rect.setBottom(layout.height_pixels - 4)
                painter.fillRect(rect, QColor(picture.palette.place_wash))


def _paint_ruler(painter: QPainter, picture: MapPicture) -> None:
    layout, palette = picture.layout, picture.palette
    font = typography.sans(typography.SMALL_POINTS)
    painter.setFont(font)
    step = _ruler_step(layout.measure_width, QFontMetricsF(font).horizontalAdvance("000") + 10)
    base = RULER_PIXELS + 2.5
    painter.setPen(QPen(QColor(palette.hairline), 1))
    painter.drawLine(
        QPointF(layout.left, base),
        QPointF(layout.left + layout.measure_width * len(layout.measures), base),
    )
    room_until = float("-inf")
    right = layout.left + layout.measure_width * len(layout.measures)
    metrics = QFontMetricsF(font)
    for measure in layout.measures:
        x = layout.left + measure.index * layout.measure_width
        on_step = measure.number.isdigit() and int(measure.number) % step == 0
        fits = room_until <= x <= right - metrics.horizontalAdvance(measure.number) - 3
        labelled = (on_step and fits) or measure.index == 0
        if not labelled and layout.measure_width < _LEAST_MEASURE_FOR_TICK_PIXELS:
            continue
        painter.setPen(QPen(QColor(palette.hairline), 1))
        painter.drawLine(QPointF(x, base - (5 if labelled else 2)), QPointF(x, base))
        if labelled:
            if measure.index == 0:
                room_until = x + metrics.horizontalAdvance(measure.number) + 18
            painter.setPen(QColor(palette.graphite))
            painter.drawText(QPointF(x + 3, base - 4), measure.number)


def _ruler_step(measure_width: float, label_width: float) -> int:
    for step in (1, 2, 4, 5, 10, 20, 50, 100):
        if step * measure_width >= label_width:
            return step
    return 200


def _paint_bracket(painter: QPainter, picture: MapPicture, section: Section, row: MapRow) -> None:
    palette = picture.palette
    rect = picture.layout.rect_of(section, row)
    selected = section.section_id == picture.selected_id
    pen = QPen(QColor(palette.place if selected else palette.graphite), 2 if selected else 1)
    painter.setPen(pen)
    y = row.top + 15.5
    left, right = rect.left() + 1.5, rect.right() - 1.5
    painter.drawPolyline(
        [QPointF(left, y + 4), QPointF(left, y), QPointF(right, y), QPointF(right, y + 4)]
    )
    font = typography.serif(typography.TEXT_POINTS + 1, italic=True)
    painter.setFont(font)
    painter.setPen(QColor(palette.place if selected else palette.ink))
    text = QFontMetricsF(font).elidedText(
        section.name, Qt.TextElideMode.ElideRight, rect.width() - 10
    )
    painter.drawText(QPointF(left + 4, y - 3), text)


def _paint_leaf(painter: QPainter, picture: MapPicture, section: Section, row: MapRow) -> None:
    palette = picture.palette
    rect = picture.layout.rect_of(section, row)
    selected = section.section_id == picture.selected_id
    box = rect.adjusted(0.5, 0.5, -0.5, -0.5)
    painter.fillRect(box, QColor(palette.place_wash if selected else palette.sheet))
    painter.setPen(QPen(QColor(palette.hairline), 1))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(box)
    if selected:
        painter.setPen(QPen(QColor(palette.place), 2))
        painter.drawRect(rect.adjusted(1, 1, -1, -1))
    room = rect.width() - 12
    if room < 6:
        return
    name_font = typography.serif(typography.SERIF_POINTS)
    metrics = QFontMetricsF(name_font)
    if metrics.horizontalAdvance(section.name) > room:  # smaller before it is cut short
        name_font = typography.serif(typography.TEXT_POINTS)
        metrics = QFontMetricsF(name_font)
    painter.setFont(name_font)
    painter.setPen(QColor(palette.place if selected else palette.ink))
    name = section.name
    if metrics.horizontalAdvance(name) > room and name.startswith(("m. ", "mm. ")):
        name = name.partition(" ")[2]  # the numbers say more than the word
    name = metrics.elidedText(name, Qt.TextElideMode.ElideRight, room)
    base = row.top + BAND_PIXELS / 2 + metrics.capHeight() / 2
    painter.drawText(QPointF(rect.left() + 7, base), name)
    name_width = metrics.horizontalAdvance(name)
    if section.purpose and room - name_width > 60:
        font = typography.serif(typography.TEXT_POINTS, italic=True)
        painter.setFont(font)
        painter.setPen(QColor(palette.graphite))
        text = QFontMetricsF(font).elidedText(
            section.purpose.splitlines()[0], Qt.TextElideMode.ElideRight, room - name_width - 12
        )
        painter.drawText(QPointF(rect.left() + 7 + name_width + 12, base), text)
