"""The report on paper: laid out once, then drawn on a printer, into a PDF, or as its preview.

Lengths are points of an A4 page. A page is a list of things to draw, so that the same layout serves
every device; fonts are sized in these points and grow with the scale of the painter.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPen, QPolygonF

from companion.desktop import typography
from companion.desktop.palette import DAY
from companion.history.knowing.known import State
from companion.practice.report import charts, wording
from companion.practice.report.values import ReportSection, ReportValues

PAGE_WIDTH, PAGE_HEIGHT = 595.0, 842.0  # A4 in points (ISO 216: 210 x 297 mm)
_MARGIN, _TOP, _BOTTOM = 42.0, 40.0, 40.0
WIDTH = PAGE_WIDTH - 2 * _MARGIN
_END = PAGE_HEIGHT - _BOTTOM

Draw = Callable[[QPainter], None]

_INK, _GRAPHITE = QColor(DAY.ink), QColor(DAY.graphite)
_HAIRLINE, _SHADING = QColor(DAY.hairline), QColor(DAY.shading)
_ATTENTION = QColor(DAY.attention_text)

_TITLE, _HEADING, _TEXT, _SMALL, _TINY = 22, 13, 10, 9, 7
_TALLEST = _END - _TOP - 120.0  # of a stretch of text that is not divided
_WORDS_OF_A_PIECE, _MOST_LETTERS = 40, 60
_ROW = 15.5
_LINE_SCALE = 0.6  # of the charts of the page in HTML
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
_WRAPPED = int(Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextWordWrap)


def _serif(size: int, *, italic: bool = False) -> QFont:
    return _sized(typography.serif(italic=italic), size)


def _sans(size: int) -> QFont:
    return _sized(typography.sans(), size)


def _sized(font: QFont, size: int) -> QFont:
    font.setPixelSize(size)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return font


@dataclass(slots=True)
class Pages:
    """Pages being filled from the top: what is to be drawn on each, and how far the last one is."""

    drawn: list[list[Draw]] = field(default_factory=lambda: [[]])
    y: float = _TOP

    def need(self, height: float) -> None:
        """Begin another page unless there is room."""
        if self.y + height > _END:
            self.drawn.append([])
            self.y = _TOP

    def add(self, height: float, draw: Callable[[QPainter, float], None]) -> None:
        """Put something below what is there; ``draw`` gets its top."""
        self.need(height)
        top = self.y
        self.drawn[-1].append(lambda painter: draw(painter, top))
        self.y += height

    def gap(self, height: float) -> None:
        """Leave some room."""
        self.y += height


def lay_out(report: ReportValues) -> tuple[tuple[Draw, ...], ...]:
    """Return the pages of a report."""
    pages = Pages()
    _head(pages, report)
    _paragraph(pages, " ".join(wording.summary(report)), _serif(_TEXT + 1))
    if report.letter.strip():
        pages.gap(3)
        _paragraph(pages, report.letter.strip(), _serif(_TEXT + 1, italic=True), inset=12)
    if report.sections:
        _heading(pages, "The sections", 60)
        _map(pages, report)
        pages.gap(6)
        _table(pages, report)
    if report.resisting:
        _heading(pages, "Where it resists", 40)
        for passage in report.resisting:
            _paragraph(pages, wording.resists(passage), _serif(_TEXT + 1), bullet=True)
        _paragraph(pages, wording.WHAT_RESISTS, _sans(_TINY + 1), color=_GRAPHITE)
    if report.playing:
        _heading(pages, "Minutes of playing, by weeks", 60)
        _weeks(pages, report)
    if report.remarks:
        _heading(pages, "Remarks on takes", 40)
        for remark in report.remarks:
            about = f" ({remark.about})" if remark.about else ""
            told = f"{wording.short_day(remark.day)}{about}: {remark.text}"
            _paragraph(pages, told, _serif(_TEXT + 1), bullet=True)
    if report.rules:
        pages.gap(8)
        rules = f"{report.rules[:1].upper()}{report.rules[1:]}."
        _paragraph(pages, rules, _sans(_TINY + 1), color=_GRAPHITE)
    _number(pages, report)
    return tuple(tuple(page) for page in pages.drawn)


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


def _text(
    painter: QPainter,
    rect: QRectF,
    text: str,
    font: QFont,
    color: QColor = _INK,
    flags: int = _LEFT,
) -> None:
    painter.setFont(font)
    painter.setPen(color)
    painter.drawText(rect, flags, text)


def _elided(text: str, font: QFont, room: float) -> str:
    return QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, room)


def _head(pages: Pages, report: ReportValues) -> None:
    right = [report.player, wording.period(report), wording.performance(report)]
    lines = [line for line in right if line]

    def draw(painter: QPainter, top: float) -> None:
        title = _serif(_TITLE)
        half = WIDTH * 0.56
        shown = _elided(report.title, title, half)
        _text(painter, QRectF(_MARGIN, top, half, 28), shown, title)
        composer = _serif(_TEXT + 1, italic=True)
        _text(painter, QRectF(_MARGIN, top + 28, half, 14), report.composer, composer, _GRAPHITE)
        flags = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        for number, line in enumerate(lines):
            y = top + 42 - 13 * (len(lines) - number)
            font = _serif(_TEXT + 1)
            rect = QRectF(_MARGIN + half, y, WIDTH - half, 13)
            _text(painter, rect, _elided(line, font, rect.width()), font, _INK, flags)
        painter.setPen(QPen(_GRAPHITE, 0.7))
        painter.drawLine(QLineF(_MARGIN, top + 46, _MARGIN + WIDTH, top + 46))

    pages.add(52, draw)


def _heading(pages: Pages, text: str, follows: float) -> None:
    """A heading that is not left alone at the foot of a page."""
    pages.gap(9)
    pages.need(20 + follows)
    pages.add(
        19,
        lambda painter, top: _text(
            painter, QRectF(_MARGIN, top, WIDTH, 16), text, _serif(_HEADING)
        ),
    )


def _paragraph(
    pages: Pages,
    text: str,
    font: QFont,
    *,
    color: QColor = _INK,
    inset: float = 0,
    bullet: bool = False,
) -> None:
    left = _MARGIN + (10 if bullet else inset)
    room = WIDTH - (left - _MARGIN)
    for number, part in enumerate(_fitting(text, font, room)):
        height = QFontMetricsF(font).boundingRect(QRectF(0, 0, room, 1e6), _WRAPPED, part).height()

        def draw(painter: QPainter, top: float, part: str = part, height: float = height,
                 first: bool = number == 0) -> None:  # fmt: skip
            _text(painter, QRectF(left, top, room, height + 2), part, font, color, _WRAPPED)
            if bullet and first:
                _text(painter, QRectF(_MARGIN, top, 10, 13), "•", font, color)
            if inset:
                painter.setPen(QPen(_HAIRLINE, 1.6))
                painter.drawLine(QLineF(_MARGIN + 3, top, _MARGIN + 3, top + height))

        pages.add(height + 1.5, draw)


def _fitting(text: str, font: QFont, room: float) -> list[str]:
    """Text in parts that each have room on a page: a letter may be longer than that."""
    metrics = QFontMetricsF(font)

    def fits(part: str) -> bool:
        box = metrics.boundingRect(QRectF(0, 0, room, 1e6), _WRAPPED, part)
        return bool(box.height() < _TALLEST)

    parts: list[str] = []
    for line in text.split("\n"):
        for piece in [line] if fits(line) else _in_pieces(line.split(" ")):
            joined = f"{parts[-1]}\n{piece}" if parts else piece
            if parts and fits(joined):
                parts[-1] = joined
            else:
                parts.append(piece)
    return parts


def _in_pieces(words: Sequence[str]) -> list[str]:
    """A line without an end in pieces of some words, each word cut where it has no end either."""
    cut = [
        word[start : start + _MOST_LETTERS]
        for word in words
        for start in range(0, max(1, len(word)), _MOST_LETTERS)
    ]
    return [
        " ".join(cut[start : start + _WORDS_OF_A_PIECE])
        for start in range(0, len(cut), _WORDS_OF_A_PIECE)
    ]


def _map(pages: Pages, report: ReportValues) -> None:
    leaves = {section.section_id for section in report.leaves}
    groups = [s for s in report.sections if s.section_id not in leaves and s.level < 3]
    levels = max((section.level + 1 for section in groups), default=0)
    scale = WIDTH / max(1, report.measure_count)
    pages.add(levels * 14 + 36, lambda painter, top: _draw_map(painter, top, report, scale, levels))


def _draw_map(
    painter: QPainter, top: float, report: ReportValues, scale: float, levels: int
) -> None:
    leaves = {section.section_id for section in report.leaves}
    for section in report.sections:
        left = _MARGIN + section.from_measure_index * scale
        width = max(1, section.to_measure_index - section.from_measure_index) * scale
        if section.section_id in leaves:
            _draw_leaf(painter, section, QRectF(left, top + levels * 14, width - 1.2, 13))
        elif section.level < 3:
            y = top + section.level * 14
            painter.setPen(QPen(_GRAPHITE, 0.6))
            right = left + width - 1
            corners = ((left, y + 12), (left, y + 10), (right, y + 10), (right, y + 12))
            painter.drawPolyline(QPolygonF([QPointF(*corner) for corner in corners]))
            _name(painter, QRectF(left, y, width - 2, 10), section.name, _SMALL - 1, _INK)


def _draw_leaf(painter: QPainter, section: ReportSection, box: QRectF) -> None:
    painter.setPen(QPen(_GRAPHITE, 0.6))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if section.state is State.KNOWN:
        painter.setBrush(_SHADING)
    painter.drawRect(box)
    if section.state is State.LAPSED:
        _hatch(painter, box)
    elif section.state is State.LEARNING and section.days_to_know:
        share = section.clean_days / section.days_to_know
        painter.fillRect(
            QRectF(box.left(), box.bottom() - 3.2, box.width() * share, 3.2), _GRAPHITE
        )
    below = QRectF(box.left(), box.bottom() + 1, box.width(), 9)
    _name(painter, below, section.name, _TINY + 1, _INK)
    _name(painter, below.translated(0, 9), charts.short_standing(section), _TINY, _GRAPHITE)


def _hatch(painter: QPainter, box: QRectF) -> None:
    """Strokes drawn one by one: a pattern brush would be a picture in a PDF."""
    painter.save()
    painter.setClipRect(box)
    painter.setPen(QPen(_ATTENTION, 0.9))
    x = box.left() - box.height()
    while x < box.right():
        painter.drawLine(QLineF(x, box.bottom(), x + box.height(), box.top()))
        x += 4
    painter.restore()


def _name(painter: QPainter, rect: QRectF, text: str, size: int, color: QColor) -> None:
    """Text on one line; nothing where next to nothing of it has room."""
    font = _sans(size)
    shown = _elided(text, font, rect.width() + 1)
    if len(shown) >= min(len(text), 7):
        _text(painter, rect, shown, font, color)


_COLUMNS = (0.0, 122.0, 216.0, 292.0, 394.0)
_LINE_WIDTH = charts.LINE_WIDTH * _LINE_SCALE


def _table(pages: Pages, report: ReportValues) -> None:
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
            _text(painter, QRectF(_MARGIN + left, top, 130, 11), text, _sans(_TINY + 1), _GRAPHITE)
        painter.setPen(QPen(_GRAPHITE, 0.6))
        painter.drawLine(QLineF(_MARGIN, top + 13, _MARGIN + WIDTH, top + 13))

    pages.add(15, draw_head)
    for section in report.rows:
        if pages.y + _ROW > _END:
            pages.need(_ROW)
            pages.add(15, draw_head)

        def draw(painter: QPainter, top: float, section: ReportSection = section) -> None:
            _draw_row(painter, top, report, section, scale)

        pages.add(_ROW, draw)
    pages.gap(3)
    _paragraph(
        pages,
        f"{wording.WHAT_A_DOT_IS} Accuracy and tempo (beats a minute) are medians of each day, "
        "both hands.",
        _sans(_TINY + 1),
        color=_GRAPHITE,
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
    name, measures = _serif(_TEXT + 1), _sans(_TINY + 1)
    taken = 0.0
    if not section.is_named_by_measures:
        taken = QFontMetricsF(measures).horizontalAdvance(section.measures) + 4
    shown = _elided(section.name, name, room - taken)
    left = _MARGIN + indent
    _text(painter, QRectF(left, top, room, _ROW - 1), shown, name)
    if taken:
        beside = left + QFontMetricsF(name).horizontalAdvance(shown) + 4
        _text(painter, QRectF(beside, top, taken, _ROW), section.measures, measures, _GRAPHITE)
    _text(
        painter,
        QRectF(_MARGIN + _COLUMNS[1], top, _COLUMNS[2] - _COLUMNS[1] - 4, _ROW - 1),
        wording.stands(section),
        _serif(_TEXT + 1),
    )
    _draw_cold(painter, _MARGIN + _COLUMNS[2], top + _ROW / 2, section)
    accuracy = [(day.day, day.accuracy) for day in section.days if day.accuracy is not None]
    tempo = [
        (day.day, day.quarters_per_minute)
        for day in section.days
        if day.quarters_per_minute is not None
    ]
    _draw_line(painter, QPointF(_MARGIN + _COLUMNS[3], top), accuracy, scale, None)
    own = charts.tempo_scale(report, section)
    target = section.target_quarters_per_minute
    _draw_line(painter, QPointF(_MARGIN + _COLUMNS[4], top), tempo, own, target)
    for left, text in (
        (_COLUMNS[3], wording.percent(section.last_accuracy)),
        (_COLUMNS[4], wording.tempo_of_target(section)),
    ):
        rect = QRectF(_MARGIN + left + _LINE_WIDTH + 3, top, 46, _ROW - 1)
        _text(painter, rect, text, _sans(_TINY + 1))
    painter.setPen(QPen(_HAIRLINE, 0.5))
    painter.drawLine(QLineF(_MARGIN, top + _ROW - 0.5, _MARGIN + WIDTH, top + _ROW - 0.5))


def _draw_cold(painter: QPainter, left: float, middle: float, section: ReportSection) -> None:
    for number, take in enumerate(section.cold[-charts.MOST_COLD_TAKES :]):
        center = QPointF(left + 3 + 6.4 * number, middle)
        if take.clean:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(_INK)
            painter.drawEllipse(center, 2.3, 2.3)
        else:
            painter.setPen(QPen(_GRAPHITE, 0.7))
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
        pen = QPen(_GRAPHITE, 0.5)
        pen.setDashPattern([3, 3])
        painter.setPen(pen)
        level = place(scale.first, rule).y()
        painter.drawLine(QLineF(corner.x(), level, corner.x() + _LINE_WIDTH, level))
    points = [place(day, value) for day, value in values]
    painter.setPen(QPen(_INK, 0.7))
    if len(points) > 1:
        painter.drawPolyline(QPolygonF(points))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QBrush(_INK))
    for point in points:
        painter.drawEllipse(point, 1.1, 1.1)


def _weeks(pages: Pages, report: ReportValues) -> None:
    weeks = report.weeks[-26:]
    most = max([60.0, *(minutes for _, minutes in weeks)])
    step = min(36.0, WIDTH / max(1, len(weeks)))

    def draw(painter: QPainter, top: float) -> None:
        foot = top + 46
        for number, (monday, minutes) in enumerate(weeks):
            left, height = _MARGIN + number * step, 34 * minutes / most
            painter.setPen(QPen(_GRAPHITE, 0.5))
            painter.setBrush(_SHADING)
            painter.drawRect(QRectF(left, foot - height, step * 0.62, height))
            above = QRectF(left, foot - height - 10, step, 9)
            _text(painter, above, f"{round(minutes)}", _sans(_TINY), _INK)
            if step > 26 or number % 2 == 0:
                below = QRectF(left, foot + 1, step * 2, 9)
                _text(painter, below, wording.short_day(monday), _sans(_TINY), _GRAPHITE)

    pages.add(58, draw)


def _number(pages: Pages, report: ReportValues) -> None:
    """Number the pages when there are several."""
    count = len(pages.drawn)
    if count == 1:
        return
    for number, page in enumerate(pages.drawn, 1):
        text = f"{report.title} · {number} of {count}"

        def draw(painter: QPainter, text: str = text) -> None:
            flags = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            rect = QRectF(_MARGIN, PAGE_HEIGHT - 30, WIDTH, 12)
            _text(painter, rect, text, _sans(_TINY + 1), _GRAPHITE, flags)

        page.append(draw)
