"""Where errors sit: one row per day, one cell per measure.

A column for each measure, as in the map: the taller and darker, the more errors per note; a measure
that was not played on a day stays empty, one without an error carries a small dot. The newest day
is on top.
"""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
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
from companion.desktop.days import wording
from companion.desktop.days.content import DaysContent, SectionDays
from companion.desktop.palette import Palette
from companion.listening.measuring.take_measures import MeasureErrors

ROW_PIXELS = 15
MOST_DAYS = 8
_LABEL, _TOP, _BOTTOM = 52.0, 22.0, 18.0
_FULL_AT = 6  # one note in six wrong fills a cell, as in the lane of the map


class ErrorStrip(QWidget):
    """Errors per measure over the latest days.

    Signals
    -------
    measure_chosen(int)
        A measure (by index) was clicked.
    """

    measure_chosen = Signal(int)

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._palette = palette
        self._rows: list[tuple[date, dict[int, MeasureErrors]]] = []
        self._first, self._last = 0, 1
        self._numbers: tuple[str, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(wording.tr("Errors per measure over the days"))
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._reached = 0

    def sizeHint(self) -> QSize:
        """High enough for the days there are."""
        return QSize(400, int(_TOP + _BOTTOM) + ROW_PIXELS * max(1, len(self._rows)))

    def set_palette(self, palette: Palette) -> None:
        """Draw in other colours from now on."""
        self._palette = palette
        self.update()

    def show_content(self, content: DaysContent, section: SectionDays | None) -> None:
        """Show the measures of a section, of the whole piece for None."""
        rows = [
            (day, {result.measure_index: result for result in inside})
            for day, inside in content.errors_in(section)
        ]
        self._rows = sorted(rows, key=lambda row: row[0], reverse=True)[:MOST_DAYS]
        self._numbers = content.measure_numbers
        self._first = section.from_measure_index if section else 0
        self._last = section.to_measure_index if section else len(content.measure_numbers)
        self._reached = max(self._first, min(self._reached, self._last - 1))
        self.setAccessibleDescription(self._in_words())
        self.updateGeometry()
        self.update()

    def _in_words(self) -> str:
        if not self._rows:
            return wording.tr("nothing played yet")
        day, measures = self._rows[0]
        worst = sorted(measures.values(), key=lambda m: m.wrong + m.missed + m.added)[-3:]
        named = ", ".join(
            wording.tr("measure {number}: errors {errors}").format(
                number=self._numbers[m.measure_index], errors=m.wrong + m.missed + m.added
            )
            for m in reversed(worst)
            if m.wrong + m.missed + m.added
        )
        return f"{short_day(day)}: {named or wording.tr('no errors')}"

    @property
    def _cell_width(self) -> float:
        return max(0.5, (self.width() - _LABEL - 4) / max(1, self._last - self._first))

    def result_at(self, x: float, y: float) -> tuple[date, MeasureErrors] | None:
        """Day and measure under a point, None where nothing was played."""
        row = int((y - _TOP) // ROW_PIXELS)
        index = self._first + int((x - _LABEL) // self._cell_width)
        if x < _LABEL or not 0 <= row < len(self._rows) or not self._first <= index < self._last:
            return None
        day, measures = self._rows[row]
        result = measures.get(index)
        return (day, result) if result else None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from measure to measure, and to the one that was reached in the score."""
        step = {Qt.Key.Key_Left.value: -1, Qt.Key.Key_Right.value: 1}.get(event.key())
        if step is not None:
            self._reached = max(self._first, min(self._reached + step, self._last - 1))
            self.setAccessibleDescription(self._measure_in_words())
            self.update()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._numbers:
            self.measure_chosen.emit(self._reached)
        else:
            super().keyPressEvent(event)

    def _measure_in_words(self) -> str:
        """The measure that was reached, newest day first."""
        told = []
        for day, measures in self._rows:
            result = measures.get(self._reached)
            if result is not None:
                told.append(self._sentence(day, result))
        return "; ".join(told) or wording.tr("not played yet")

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Go to the measure under the pointer."""
        index = self._first + int((event.position().x() - _LABEL) // self._cell_width)
        if event.position().x() >= _LABEL and self._first <= index < self._last:
            self.measure_chosen.emit(index)

    def event(self, event: QEvent) -> bool:
        """Tell what happened in the measure under the pointer."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            found = self.result_at(event.pos().x(), event.pos().y())
            tips.show(event.globalPos(), self._sentence(*found) if found else "", self)
            return True
        return super().event(event)

    def _sentence(self, day: date, result: MeasureErrors) -> str:
        return wording.tr(
            "Measure {number}, {day}: {wrong} wrong, {missed} missed, {added} added "
            "in {expected} notes ({plays} times played)"
        ).format(
            number=self._numbers[result.measure_index],
            day=short_day(day),
            wrong=result.wrong,
            missed=result.missed,
            added=result.added,
            expected=result.expected,
            plays=result.plays,
        )

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the rows."""
        painter = QPainter(self)
        painter.setFont(typography.sans(typography.TEXT_POINTS, bold=True))
        painter.setPen(QColor(self._palette.ink))
        title = wording.tr("Where errors sit")
        painter.drawText(QPointF(0, 13), title)
        offset = QFontMetricsF(painter.font()).horizontalAdvance(title + "  ")
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        painter.setPen(QColor(self._palette.graphite))
        painter.drawText(
            QPointF(offset, 13),
            wording.tr("measure by measure; the taller, the more errors per note"),
        )
        if not self._rows:
            painter.setFont(typography.serif(typography.SERIF_POINTS, italic=True))
            painter.drawText(QPointF(_LABEL, _TOP + ROW_PIXELS), wording.tr("not played yet"))
            return
        for row, (day, measures) in enumerate(self._rows):
            self._paint_row(painter, _TOP + row * ROW_PIXELS, day, measures)
        self._paint_numbers(painter, _TOP + len(self._rows) * ROW_PIXELS)
        if self.hasFocus():
            x = _LABEL + (self._reached - self._first) * self._cell_width
            frame = QRectF(x, _TOP, max(3.0, self._cell_width), len(self._rows) * ROW_PIXELS)
            painter.setPen(QPen(QColor(self._palette.place), 1))
            painter.drawRect(frame)

    def _paint_row(
        self, painter: QPainter, top: float, day: date, measures: dict[int, MeasureErrors]
    ) -> None:
        painter.setPen(QColor(self._palette.graphite))
        painter.drawText(QPointF(0, top + ROW_PIXELS - 2), short_day(day))
        width = self._cell_width
        for index, result in measures.items():
            cell = QRectF(_LABEL + (index - self._first) * width, top + 2, width, ROW_PIXELS - 2)
            self._paint_cell(painter, cell.adjusted(0, 0, -1 if width > 3 else 0, 0), result)
        painter.setPen(QPen(QColor(self._palette.hairline), 1))
        painter.drawLine(
            QPointF(_LABEL, top + ROW_PIXELS), QPointF(self.width() - 4, top + ROW_PIXELS)
        )

    def _paint_cell(self, painter: QPainter, cell: QRectF, result: MeasureErrors) -> None:
        errors = result.wrong + result.missed + result.added
        if not errors:
            painter.fillRect(
                QRectF(cell.center().x() - 1, cell.bottom() - 2, 2, 2),
                QColor(self._palette.graphite),
            )
            return
        share = min(1.0, errors / max(1, result.expected) * _FULL_AT)
        height = 2 + share * (cell.height() - 2)
        colour = QColor(self._palette.wrong)
        colour.setAlphaF(0.5 + 0.5 * share)
        painter.fillRect(QRectF(cell.left(), cell.bottom() - height, cell.width(), height), colour)

    def _paint_numbers(self, painter: QPainter, top: float) -> None:
        metrics = QFontMetricsF(painter.font())
        room = metrics.horizontalAdvance("0000")
        step = next((n for n in (1, 2, 4, 5, 10, 20, 50) if n * self._cell_width >= room), 100)
        painter.setPen(QColor(self._palette.graphite))
        for index in range(self._first, self._last):
            number = self._numbers[index]
            if index == self._first or (number.isdigit() and int(number) % step == 0):
                x = _LABEL + (index - self._first) * self._cell_width
                if index != self._first and x < _LABEL + room:
                    continue
                painter.drawText(QPointF(x, top + 13), number)
