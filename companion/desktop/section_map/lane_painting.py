"""Draw the lanes under the band and the strip of errors, as a printed table would be drawn.

Colour never stands alone: a bar that stands well is solid, one that asks for attention is hatched,
one that is mostly wrong is cross-hatched, and the figure is written beside it.
"""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QPainter, QPen

from companion.desktop import typography
from companion.desktop.palette import Palette
from companion.desktop.section_map import wording
from companion.desktop.section_map.figures import (
    Standing,
    standing_of_accuracy,
    standing_of_tempo,
)
from companion.desktop.section_map.layout import (
    LANE_PIXELS,
    MARGIN_PIXELS,
    STRIP_PIXELS,
    Lane,
)
from companion.desktop.section_map.picture import MapPicture
from companion.score.sections.section_map import Section

_PATTERNS = {
    Standing.WELL: Qt.BrushStyle.SolidPattern,
    Standing.ATTENTION: Qt.BrushStyle.BDiagPattern,
    Standing.WRONG: Qt.BrushStyle.DiagCrossPattern,
}
_BAR_PIXELS = 6.0
_LEAST_BAR_PIXELS = 24.0
_LEVELS = 5  # of workload
_HAIR = 0.05
_TEXT_GAP_PIXELS = 8.0
_TALLY_STEP_PIXELS = 4.0
_LEAST_CELL_FOR_TEXT_PIXELS = 30.0
_MEASURES_A_STEP = 100


def lane_steps(painter: QPainter, picture: MapPicture) -> Iterator[None]:
    """Draw a row per lane with the figures of every section that has no sections inside.

    A little more at each step.
    """
    layout, palette = picture.layout, picture.palette
    small = typography.sans(typography.SMALL_POINTS)
    right = layout.left + layout.measure_width * len(layout.measures)
    names = {
        Lane.KEYS: wording.tr("keys"),
        Lane.WORK: wording.tr("work"),
        Lane.ACCURACY: wording.tr("accuracy"),
        Lane.TEMPO: wording.tr("tempo"),
        Lane.LAST_PLAYED: wording.tr("last played"),
        Lane.TAKES: wording.tr("takes"),
    }
    for lane in layout.lanes:
        top = layout.lane_top(lane)
        painter.setFont(small)
        painter.setPen(QColor(palette.graphite))
        painter.drawText(
            QRectF(MARGIN_PIXELS, top, layout.left - MARGIN_PIXELS - 8, LANE_PIXELS),
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
            names[lane],
        )
        painter.setPen(QPen(QColor(palette.hairline), 1))
        y = top + LANE_PIXELS - 0.5
        painter.drawLine(QPointF(MARGIN_PIXELS, y), QPointF(right, y))
    if Lane.KEYS in layout.lanes:
        _paint_keys(painter, picture, right)
    yield
    if Lane.WORK in layout.lanes:
        for section in layout.leaves:
            _paint_work(painter, picture, section)
            yield
    if not layout.take_lanes:
        return
    if not picture.figures.any_take:
        _paint_nothing_played(painter, picture, right)
        return
    columns = _text_columns(picture, QFontMetricsF(small))
    for section in layout.leaves:
        left, end = layout.x_at(section.start), layout.x_at(section.end)
        for lane in layout.take_lanes:
            cell = QRectF(left + 4, layout.lane_top(lane), max(0.0, end - left - 8), LANE_PIXELS)
            painter.setFont(small)
            _paint_cell(painter, picture, section, cell, lane, columns.get(lane, 0.0))
        yield


def _text_columns(picture: MapPicture, metrics: QFontMetricsF) -> dict[Lane, float]:
    """Room for the widest figure of each lane with bars, so that all its bars begin in line."""
    return {
        lane: max(
            (
                metrics.horizontalAdvance(_figure(picture, section, lane))
                for section in picture.layout.leaves
            ),
            default=0.0,
        )
        + _TEXT_GAP_PIXELS
        for lane in (Lane.ACCURACY, Lane.TEMPO)
    }


def _figure(picture: MapPicture, section: Section, lane: Lane) -> str:
    """The figure that stands before a bar."""
    layout = picture.layout
    figures = picture.figures.of_section(section.section_id)
    if lane is Lane.ACCURACY:
        return wording.accuracy_text(figures)
    index = min(section.start.measure_index, len(layout.measures) - 1)
    return wording.tempo_text(figures, layout.measures[index].beat_quarters)


def _paint_nothing_played(painter: QPainter, picture: MapPicture, right: float) -> None:
    layout, palette = picture.layout, picture.palette
    painter.setFont(typography.serif(typography.SERIF_POINTS, italic=True))
    rect = QRectF(
        layout.left,
        layout.lane_top(layout.take_lanes[0]),
        right - layout.left,
        LANE_PIXELS * len(layout.take_lanes),
    )
    painter.fillRect(rect, QColor(palette.paper))
    painter.setPen(QPen(QColor(palette.hairline), 1))
    painter.drawLine(rect.bottomLeft(), rect.bottomRight())
    painter.setPen(QColor(palette.graphite))
    text = wording.nothing_to_show(picture.figures)
    painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, text)


def _paint_keys(painter: QPainter, picture: MapPicture, right: float) -> None:
    """Write each key where it begins, with a rule before it."""
    layout, palette = picture.layout, picture.palette
    top = layout.lane_top(Lane.KEYS)
    painter.setFont(typography.serif(typography.SMALL_POINTS, italic=True))
    for key in picture.figures.keys:
        left = layout.left + key.start_measure * layout.measure_width
        end = min(right, layout.left + key.end_measure * layout.measure_width)
        if key.start_measure > 0:
            painter.setPen(QPen(QColor(palette.hairline), 1))
            x = round(left) + 0.5
            painter.drawLine(QPointF(x, top + 2), QPointF(x, top + LANE_PIXELS - 2))
        metrics = QFontMetricsF(painter.font())
        room = end - left - 8
        spoken = metrics.horizontalAdvance(key.spoken) <= room
        _write(
            painter,
            palette.ink,
            QRectF(left + 4, top, max(0.0, room + 4), LANE_PIXELS),
            key.spoken if spoken else key.short,
        )


def _paint_work(painter: QPainter, picture: MapPicture, section: Section) -> None:
    """Write the rank of a section, the hardest first, and a bar of how much harder it is."""
    work = picture.figures.work_of(section.section_id)
    if work is None:
        return
    layout, palette = picture.layout, picture.palette
    left, end = layout.x_at(section.start), layout.x_at(section.end)
    cell = QRectF(left + 4, layout.lane_top(Lane.WORK), max(0.0, end - left - 8), LANE_PIXELS)
    painter.setFont(typography.sans(typography.SMALL_POINTS))
    text = wording.rank_text(work)
    _write(painter, palette.ink, cell, text)
    column = QFontMetricsF(painter.font()).horizontalAdvance(wording.widest_rank(work))
    track = QRectF(
        cell.left() + column + _TEXT_GAP_PIXELS,
        cell.center().y() - _BAR_PIXELS / 2,
        cell.width() - column - _TEXT_GAP_PIXELS,
        _BAR_PIXELS,
    )
    if track.width() < _LEAST_BAR_PIXELS:
        return
    painter.setPen(QPen(QColor(palette.hairline), 1))
    base = track.bottom() - 0.5
    painter.drawLine(QPointF(track.left(), base), QPointF(track.right(), base))
    step = track.width() / _LEVELS
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(palette.graphite))
    for number in range(_LEVELS):  # one block for each level, the last one as much as is over
        part = min(1.0, max(0.0, work.level - number))
        if part > _HAIR:
            painter.drawRect(
                QRectF(track.left() + number * step, track.top(), (step - 2) * part, _BAR_PIXELS)
            )
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _paint_cell(
    painter: QPainter,
    picture: MapPicture,
    section: Section,
    cell: QRectF,
    lane: Lane,
    column: float,
) -> None:
    palette = picture.palette
    figures = picture.figures.of_section(section.section_id)
    if not figures.takes:
        return
    text = _figure(picture, section, lane)
    if lane is Lane.ACCURACY and figures.accuracy is not None:
        standing = standing_of_accuracy(figures.accuracy)
        _paint_bar(painter, palette, cell, figures.accuracy, standing, text, column)
    elif lane is Lane.TEMPO and figures.running_quarters_per_minute is not None:
        share = figures.tempo_share
        if share is None:
            _write(painter, palette.ink, cell, text)
        else:
            standing = standing_of_tempo(share)
            _paint_bar(painter, palette, cell, share, standing, text, column, over=1.15)
    elif lane is Lane.LAST_PLAYED and figures.last_played and picture.figures.today:
        day, today = figures.last_played, picture.figures.today
        text = wording.days_ago(day, today)
        if QFontMetricsF(painter.font()).horizontalAdvance(text) > cell.width():
            text = wording.days_ago_in_short(day, today)
        _write(painter, palette.ink, cell, text)
    elif lane is Lane.TAKES:
        _paint_tally(painter, palette, cell, figures.takes)


def _write(painter: QPainter, colour: str, cell: QRectF, text: str) -> None:
    if cell.width() < 12:
        return
    painter.setPen(QColor(colour))
    elided = QFontMetricsF(painter.font()).elidedText(
        text, Qt.TextElideMode.ElideRight, cell.width()
    )
    painter.drawText(cell, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, elided)


def standing_colour(palette: Palette, standing: Standing) -> str:
    """Colour for a bar; its pattern says the same."""
    return {
        Standing.WELL: palette.graphite,
        Standing.ATTENTION: palette.attention,
        Standing.WRONG: palette.wrong,
    }[standing]


def _paint_bar(
    painter: QPainter,
    palette: Palette,
    cell: QRectF,
    share: float,
    standing: Standing,
    text: str,
    column: float,
    *,
    over: float = 1.0,
) -> None:
    """Write the figure and draw its bar behind it; with ``over`` above 1 the target has a tick."""
    metrics = QFontMetricsF(painter.font())
    text_width = column
    fits = cell.width() - text_width > 16
    if not fits and cell.width() >= _LEAST_CELL_FOR_TEXT_PIXELS:
        text = text.split(" / ")[0]
        text_width = metrics.horizontalAdvance(text) + _TEXT_GAP_PIXELS
        fits = cell.width() - text_width > 16
        if not fits:
            _write(painter, palette.ink, cell, text)
            return
    if fits:
        _write(painter, palette.ink, cell, text)
    else:
        text_width = 0
    track = QRectF(
        cell.left() + text_width,
        cell.center().y() - _BAR_PIXELS / 2,
        cell.width() - text_width,
        _BAR_PIXELS,
    )
    colour = QColor(standing_colour(palette, standing))
    filled = QRectF(track)
    filled.setWidth(track.width() * min(1.0, share / over))
    painter.setPen(QPen(QColor(palette.hairline), 1))
    painter.drawLine(
        QPointF(track.left(), track.bottom() - 0.5), QPointF(track.right(), track.bottom() - 0.5)
    )
    painter.setPen(QPen(colour, 1))
    painter.setBrush(QBrush(colour, _PATTERNS[standing]))
    painter.drawRect(filled.adjusted(0.5, 0.5, -0.5, -0.5))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if over > 1.0:
        x = track.left() + track.width() / over
        painter.setPen(QPen(QColor(palette.ink), 1))
        painter.drawLine(QPointF(x, track.top() - 3), QPointF(x, track.bottom() + 3))


def _paint_tally(painter: QPainter, palette: Palette, cell: QRectF, takes: int) -> None:
    """Write the number of takes and, where there is room, its tally: every fifth stroke across."""
    number = str(takes)
    _write(painter, palette.ink, cell, number)
    left = cell.left() + QFontMetricsF(painter.font()).horizontalAdvance(number) + 8
    groups, rest = divmod(takes, 5)
    needed = (groups * 6 + rest) * _TALLY_STEP_PIXELS
    if left + needed > cell.right():
        return
    painter.setPen(QPen(QColor(palette.graphite), 1))
    top, bottom = cell.top() + 4, cell.bottom() - 5
    x = left
    for stroke in range(takes):
        if stroke % 5 == 4:
            painter.drawLine(
                QPointF(x - 4.4 * _TALLY_STEP_PIXELS, bottom - 1),
                QPointF(x - 0.6 * _TALLY_STEP_PIXELS + 2, top + 1),
            )
            x += _TALLY_STEP_PIXELS
        else:
            painter.drawLine(QPointF(x, top), QPointF(x, bottom))
            x += _TALLY_STEP_PIXELS


def strip_steps(painter: QPainter, picture: MapPicture) -> Iterator[None]:
    """Draw a column of errors per measure: the taller and darker, the more goes wrong there."""
    layout, palette = picture.layout, picture.palette
    painter.setFont(typography.sans(typography.SMALL_POINTS))
    painter.setPen(QColor(palette.graphite))
    painter.drawText(
        QRectF(MARGIN_PIXELS, layout.strip_top, layout.left - MARGIN_PIXELS - 8, STRIP_PIXELS),
        Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
        wording.tr("errors"),
    )
    base = layout.strip_top + STRIP_PIXELS - 1.5
    right = layout.left + layout.measure_width * len(layout.measures)
    painter.setPen(QPen(QColor(palette.hairline), 1))
    painter.drawLine(QPointF(MARGIN_PIXELS, base + 1), QPointF(right, base + 1))
    painter.setPen(Qt.PenStyle.NoPen)
    for number, figures in enumerate(picture.figures.measures):
        if number % _MEASURES_A_STEP == 0:
            yield
        if not figures.expected:
            continue
        x = layout.left + figures.measure_index * layout.measure_width
        width = max(1.0, layout.measure_width - 1.5)
        if not figures.errors:
            # played and right: a dot, so that it differs from a measure never played
            painter.fillRect(QRectF(x + width / 2 - 1, base - 1, 2, 2), QColor(palette.graphite))
            continue
        share = min(1.0, figures.error_share * 6)  # one note in six wrong fills the column
        height = 3 + share * (STRIP_PIXELS - 5)
        colour = QColor(palette.wrong)
        colour.setAlphaF(0.45 + 0.55 * share)
        painter.fillRect(QRectF(x + 0.75, base - height, width, height), colour)
