"""Cold takes of every section as dots on the calendar, known longest on top.

A clean cold take is a filled dot, one that was not clean an open one with a cross in it. Behind
them lies the band of the days on which the section was known; where it had lapsed the band is
hatched. To the right: how likely a clean cold take is today, as a line from the lower to the upper
end of its interval with a stroke at the estimate, and the day of the next return.
"""

from __future__ import annotations

from datetime import date, timedelta

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from companion.desktop import tips, typography
from companion.desktop.dates import short_day
from companion.desktop.knowing import wording
from companion.desktop.knowing.content import (
    DAYS_SHOWN,
    LEAST_DAYS_SHOWN,
    RETURNS_SHOWN,
    KnowingContent,
    KnowingRow,
)
from companion.desktop.palette import Palette
from companion.desktop.percent import percent
from companion.history.knowing.known import ColdTake

ROW_PIXELS = 36.0
_TOP, _BOTTOM = 22.0, 20.0
_NAME_PIXELS, _RIGHT_PIXELS = 190.0, 206.0
_GAP = 16.0
_DOT = 4.0
_BAND_PIXELS = 12.0
_REACH_PIXELS = 8.0
_INTERVAL_PIXELS = 84.0


class KnowingChart(QWidget):
    """The sections of a piece, known longest first, with their cold takes.

    Signals
    -------
    section_chosen(str)
        A row was clicked or entered (id of the section or task).
    """

    section_chosen = Signal(str)

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._palette = palette
        self._content = KnowingContent()
        self._row, self._take = 0, -1
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(wording.tr("Cold takes of the sections, known longest first"))

    def sizeHint(self) -> QSize:
        """High enough for all rows."""
        return QSize(640, int(_TOP + _BOTTOM + ROW_PIXELS * max(1, len(self._content.rows))))

    def minimumSizeHint(self) -> QSize:
        """Room for a fortnight beside names and figures."""
        return QSize(520, self.sizeHint().height())

    def set_palette(self, palette: Palette) -> None:
        """Draw in other colours from now on."""
        self._palette = palette
        self.update()

    def show_content(self, content: KnowingContent) -> None:
        """Show a piece."""
        self._content = content
        self._row = min(self._row, max(0, len(content.rows) - 1))
        self._take = -1
        self._describe()
        self.updateGeometry()
        self.update()

    # where things lie

    @property
    def _first(self) -> date:
        today = self._content.today or date(2000, 1, 1)
        earliest = min(
            (
                row.standing.cold_takes[0].day
                for row in self._content.rows
                if row.standing.cold_takes
            ),
            default=today,
        )
        days = min(max((today - earliest).days + 1, LEAST_DAYS_SHOWN), DAYS_SHOWN)
        return today - timedelta(days=days - 1)

    @property
    def _last(self) -> date:
        return (self._content.today or date(2000, 1, 1)) + timedelta(days=RETURNS_SHOWN)

    def x_at(self, day: date) -> float:
        """Middle of a day."""
        first = self._first
        width = (self.width() - _NAME_PIXELS - _RIGHT_PIXELS) / ((self._last - first).days + 1)
        return _NAME_PIXELS + ((day - first).days + 0.5) * width

    def row_at(self, y: float) -> KnowingRow | None:
        """The row at a height."""
        number = int((y - _TOP) // ROW_PIXELS)
        rows = self._content.rows
        return rows[number] if y >= _TOP and number < len(rows) else None

    def take_at(self, row: KnowingRow, x: float) -> ColdTake | None:
        """The cold take of a row whose day lies nearest to a place, within reach of a pointer."""
        shown = self._shown_takes(row)
        nearest = min(shown, key=lambda take: abs(self.x_at(take.day) - x), default=None)
        if nearest is None or abs(self.x_at(nearest.day) - x) > _REACH_PIXELS:
            return None
        return nearest

    def _shown_takes(self, row: KnowingRow) -> tuple[ColdTake, ...]:
        newest = row.standing.cold_takes[-DAYS_SHOWN:]
        first = self._first
        return tuple(take for take in newest if take.day >= first)

    # what is asked

    def words_at(self, x: float, y: float) -> str:
        """What lies under a point."""
        if y < _TOP:
            return wording.HEADING_TIP
        row = self.row_at(y)
        if row is None:
            return ""
        take = self.take_at(row, x)
        if take is not None:
            return wording.cold_take(row, take)
        return wording.row_sentence(row, self._content)

    def event(self, event: QEvent) -> bool:
        """Tell about what lies under the pointer."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            tips.show(event.globalPos(), self.words_at(event.pos().x(), event.pos().y()), self)
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from row to row, and from cold take to cold take."""
        key, rows = event.key(), self._content.rows
        if not rows:
            super().keyPressEvent(event)
            return
        takes = self._shown_takes(rows[self._row])
        if key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            step = 1 if key == Qt.Key.Key_Down else -1
            self._row, self._take = max(0, min(self._row + step, len(rows) - 1)), -1
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right) and takes:
            step = 1 if key == Qt.Key.Key_Right else -1
            at = self._take if self._take >= 0 else (len(takes) if step < 0 else -1)
            self._take = max(0, min(at + step, len(takes) - 1))
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.section_chosen.emit(rows[self._row].standing.section_id)
        else:
            super().keyPressEvent(event)
            return
        self._describe()
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the section under the pointer."""
        row = self.row_at(event.position().y())
        if row is not None:
            self._row, self._take = self._content.rows.index(row), -1
            self._describe()
            self.update()
            self.section_chosen.emit(row.standing.section_id)

    def _describe(self) -> None:
        rows = self._content.rows
        if not rows:
            self.setAccessibleDescription(wording.tr("no section yet"))
            return
        row = rows[self._row]
        takes = self._shown_takes(row)
        if 0 <= self._take < len(takes):
            self.setAccessibleDescription(wording.cold_take(row, takes[self._take]))
        else:
            self.setAccessibleDescription(wording.row_sentence(row, self._content))

    # painting

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the rows."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        today = self._content.today
        if today is None:
            return
        self._paint_heads(painter)
        for number, row in enumerate(self._content.rows):
            top = _TOP + number * ROW_PIXELS
            if self.hasFocus() and number == self._row:
                wash = QRectF(0, top + 1, self.width(), ROW_PIXELS - 2)
                painter.fillRect(wash, QColor(self._palette.place_wash))
            self._paint_row(painter, row, top, today)
        self._paint_days(painter, today)

    def _paint_heads(self, painter: QPainter) -> None:
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        painter.setPen(QColor(self._palette.graphite))
        painter.drawText(QPointF(0, 12), wording.tr("known longest first"))
        painter.drawText(
            QPointF(_NAME_PIXELS, 12),
            wording.tr("cold takes: ● clean, ⊗ not clean; band: known, hatched: lapsed; ↲ again"),
        )
        right = self.width() - _RIGHT_PIXELS + _GAP
        painter.drawText(QPointF(right, 12), wording.tr("clean today, likely"))

    def _paint_row(self, painter: QPainter, row: KnowingRow, top: float, today: date) -> None:
        palette, standing = self._palette, row.standing
        painter.setPen(QPen(QColor(palette.hairline), 1))
        foot = top + ROW_PIXELS - 0.5
        painter.drawLine(QPointF(0, foot), QPointF(self.width(), foot))
        room = _NAME_PIXELS - _GAP
        painter.setFont(typography.serif(typography.SERIF_POINTS, italic=standing.is_task))
        painter.setPen(QColor(palette.ink))
        self._write(painter, standing.name, QPointF(0, top + 15), room)
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        painter.setPen(QColor(palette.graphite))
        self._write(
            painter,
            wording.state(standing, self._content.rules, today),
            QPointF(0, top + 30),
            room,
        )
        middle = top + ROW_PIXELS / 2
        self._paint_spells(painter, row, middle, today)
        for number, take in enumerate(self._shown_takes(row)):
            at = QPointF(self.x_at(take.day), middle)
            self._paint_take(painter, at, clean=take.clean)
            chosen = row is self._content.rows[self._row] and number == self._take
            if chosen and self.hasFocus():
                painter.setPen(QPen(QColor(palette.place), 1.5))
                painter.drawRect(QRectF(at.x() - 7, middle - 9, 14, 18))
        self._paint_return(painter, row, middle, today)
        self._paint_retention(painter, row, top, today)

    def _paint_spells(self, painter: QPainter, row: KnowingRow, middle: float, today: date) -> None:
        spells = row.standing.spells
        for number, spell in enumerate(spells):
            until = spell.lapsed_on or today
            self._paint_band(painter, spell.known_since, until, middle, lapsed=False)
            if spell.lapsed_on is not None:
                again = spells[number + 1].known_since if number + 1 < len(spells) else today
                self._paint_band(painter, spell.lapsed_on, again, middle, lapsed=True)

    def _paint_band(
        self, painter: QPainter, begin: date, end: date, middle: float, *, lapsed: bool
    ) -> None:
        first = self._first
        if end < first:
            return
        left = self.x_at(begin) if begin >= first else _NAME_PIXELS
        rect = QRectF(
            left, middle - _BAND_PIXELS / 2, max(2.0, self.x_at(end) - left), _BAND_PIXELS
        )
        if lapsed:
            painter.fillRect(
                rect, QBrush(QColor(self._palette.attention), Qt.BrushStyle.BDiagPattern)
            )
        else:
            painter.fillRect(rect, QColor(self._palette.shading))

    def _paint_take(self, painter: QPainter, at: QPointF, *, clean: bool) -> None:
        if clean:
            painter.setPen(QPen(QColor(self._palette.paper), 1))
            painter.setBrush(QColor(self._palette.ink))
            painter.drawEllipse(at, _DOT, _DOT)
        else:
            painter.setPen(QPen(QColor(self._palette.wrong), 1.3))
            painter.setBrush(QColor(self._palette.paper))
            painter.drawEllipse(at, _DOT + 0.6, _DOT + 0.6)
            reach = _DOT * 0.55
            for side in (-1, 1):
                painter.drawLine(
                    at + QPointF(-reach, -reach * side), at + QPointF(reach, reach * side)
                )
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _paint_return(self, painter: QPainter, row: KnowingRow, middle: float, today: date) -> None:
        """A hook on the day of the return: down from above and back to the left."""
        found = row.standing.next_return
        if found is None or found.day > self._last:
            return
        x = self.x_at(max(found.day, today))
        painter.setPen(QPen(QColor(self._palette.place), 1.6))
        painter.drawPolyline(
            [
                QPointF(x + 3, middle - 6),
                QPointF(x + 3, middle + 3),
                QPointF(x - 4, middle + 3),
            ]
        )
        painter.drawLine(QPointF(x - 4, middle + 3), QPointF(x - 1, middle))
        painter.drawLine(QPointF(x - 4, middle + 3), QPointF(x - 1, middle + 6))

    def _paint_retention(self, painter: QPainter, row: KnowingRow, top: float, today: date) -> None:
        palette, estimate = self._palette, row.standing.retention
        left = self.width() - _RIGHT_PIXELS + _GAP
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        painter.setPen(QColor(palette.graphite))
        room = _RIGHT_PIXELS - _GAP
        self._write(
            painter, wording.next_return(row.standing, today), QPointF(left, top + 30), room
        )
        if not estimate.count:
            painter.drawText(QPointF(left, top + 15), "–")
            return
        y = round(top + 11) + 0.5
        painter.setPen(QPen(QColor(palette.hairline), 1))
        painter.drawLine(QPointF(left, y), QPointF(left + _INTERVAL_PIXELS, y))
        painter.setPen(QPen(QColor(palette.graphite), 2))
        painter.drawLine(
            QPointF(left + estimate.low * _INTERVAL_PIXELS, y),
            QPointF(left + estimate.high * _INTERVAL_PIXELS, y),
        )
        painter.setPen(QPen(QColor(palette.ink), 2))
        x = left + estimate.probability * _INTERVAL_PIXELS
        painter.drawLine(QPointF(x, y - 5), QPointF(x, y + 5))
        painter.setPen(QColor(palette.ink))
        text = (
            wording.tr("{share}, {n} takes")
            if estimate.count != 1
            else wording.tr("{share}, {n} take")
        ).format(share=percent(estimate.probability), n=estimate.count)
        painter.drawText(QPointF(left + _INTERVAL_PIXELS + 8, top + 15), text)

    def _paint_days(self, painter: QPainter, today: date) -> None:
        """Write the days that are named, and rule the one of today."""
        palette = self._palette
        foot = _TOP + ROW_PIXELS * len(self._content.rows)
        x = round(self.x_at(today)) + 0.5
        painter.setPen(QPen(QColor(palette.place), 1, Qt.PenStyle.DotLine))
        painter.drawLine(QPointF(x, _TOP), QPointF(x, foot))
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        metrics = QFontMetricsF(painter.font())
        painter.setPen(QColor(palette.graphite))
        first = short_day(self._first)
        painter.drawText(QPointF(_NAME_PIXELS, foot + 14), first)
        word = wording.tr("today")
        painter.drawText(QPointF(x - metrics.horizontalAdvance(word) / 2, foot + 14), word)

    def _write(self, painter: QPainter, text: str, at: QPointF, room: float) -> None:
        metrics = QFontMetricsF(painter.font())
        painter.drawText(at, metrics.elidedText(text, Qt.TextElideMode.ElideRight, room))
