"""What stands on the pages of the report, from the top."""

from __future__ import annotations

from PySide6.QtCore import QLineF, QRectF
from PySide6.QtGui import QPainter, QPen

from companion.desktop.report.paper.lettering import (
    GRAPHITE,
    INK,
    RIGHT,
    TEXT,
    TINY,
    TITLE,
    draw_text,
    elided,
    sans,
    serif,
)
from companion.desktop.report.paper.pages import MARGIN, PAGE_HEIGHT, WIDTH, Draw, Pages
from companion.desktop.report.paper.paragraphs import add_heading, add_paragraph
from companion.desktop.report.paper.section_map import add_map
from companion.desktop.report.paper.section_rows import add_rows
from companion.desktop.report.paper.weeks import add_weeks
from companion.practice.report import wording
from companion.practice.report.values import ReportValues


def lay_out(report: ReportValues) -> tuple[tuple[Draw, ...], ...]:
    """Return the pages of a report."""
    pages = Pages()
    _head(pages, report)
    add_paragraph(pages, " ".join(wording.summary(report)), serif(TEXT + 1))
    if report.letter.strip():
        pages.gap(3)
        add_paragraph(pages, report.letter.strip(), serif(TEXT + 1, italic=True), inset=12)
    if report.sections:
        add_heading(pages, "The sections", 60)
        add_map(pages, report)
        pages.gap(6)
        add_rows(pages, report)
    if report.resisting:
        add_heading(pages, "Where it resists", 40)
        for passage in report.resisting:
            add_paragraph(pages, wording.resists(passage), serif(TEXT + 1), bullet=True)
        add_paragraph(pages, wording.WHAT_RESISTS, sans(TINY + 1), color=GRAPHITE)
    if report.playing:
        add_heading(pages, "Minutes of playing, by weeks", 60)
        add_weeks(pages, report)
    if report.remarks:
        add_heading(pages, "Remarks on takes", 40)
        for remark in report.remarks:
            about = f" ({remark.about})" if remark.about else ""
            told = f"{wording.short_day(remark.day)}{about}: {remark.text}"
            add_paragraph(pages, told, serif(TEXT + 1), bullet=True)
    if report.rules:
        pages.gap(8)
        rules = f"{report.rules[:1].upper()}{report.rules[1:]}."
        add_paragraph(pages, rules, sans(TINY + 1), color=GRAPHITE)
    _number(pages, report)
    return tuple(tuple(page) for page in pages.drawn)


def _head(pages: Pages, report: ReportValues) -> None:
    right = [report.player, wording.period(report), wording.performance(report)]
    lines = [line for line in right if line]

    def draw(painter: QPainter, top: float) -> None:
        title = serif(TITLE)
        half = WIDTH * 0.56
        shown = elided(report.title, title, half)
        draw_text(painter, QRectF(MARGIN, top, half, 28), shown, title)
        composer = serif(TEXT + 1, italic=True)
        draw_text(painter, QRectF(MARGIN, top + 28, half, 14), report.composer, composer, GRAPHITE)
        for number, line in enumerate(lines):
            y = top + 42 - 13 * (len(lines) - number)
            font = serif(TEXT + 1)
            rect = QRectF(MARGIN + half, y, WIDTH - half, 13)
            draw_text(painter, rect, elided(line, font, rect.width()), font, INK, RIGHT)
        painter.setPen(QPen(GRAPHITE, 0.7))
        painter.drawLine(QLineF(MARGIN, top + 46, MARGIN + WIDTH, top + 46))

    pages.add(52, draw)


def _number(pages: Pages, report: ReportValues) -> None:
    """Number the pages when there are several."""
    count = len(pages.drawn)
    if count == 1:
        return
    for number, page in enumerate(pages.drawn, 1):
        text = f"{report.title} · {number} of {count}"

        def draw(painter: QPainter, text: str = text) -> None:
            rect = QRectF(MARGIN, PAGE_HEIGHT - 30, WIDTH, 12)
            draw_text(painter, rect, text, sans(TINY + 1), GRAPHITE, RIGHT)

        page.append(draw)
