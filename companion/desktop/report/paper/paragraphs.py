"""Headings and paragraphs; a text may be longer than a page, a word longer than a line."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QLineF, QRectF
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from companion.desktop.report.paper.lettering import (
    HAIRLINE,
    HEADING,
    INK,
    WRAPPED,
    draw_text,
    serif,
)
from companion.desktop.report.paper.pages import END, MARGIN, TOP, WIDTH, Pages

_TALLEST = END - TOP - 120.0  # of a stretch of text that is not divided
_WORDS_OF_A_PIECE, _MOST_LETTERS = 40, 60


def add_heading(pages: Pages, text: str, follows: float) -> None:
    """A heading that is not left alone at the foot of a page."""
    pages.gap(9)
    pages.need(20 + follows)
    pages.add(
        19,
        lambda painter, top: draw_text(
            painter, QRectF(MARGIN, top, WIDTH, 16), text, serif(HEADING)
        ),
    )


def add_paragraph(
    pages: Pages,
    text: str,
    font: QFont,
    *,
    color: QColor = INK,
    inset: float = 0,
    bullet: bool = False,
) -> None:
    """Text below what is there, with a dot before it or a line beside it where that is asked."""
    left = MARGIN + (10 if bullet else inset)
    room = WIDTH - (left - MARGIN)
    for number, part in enumerate(_fitting(text, font, room)):
        height = QFontMetricsF(font).boundingRect(QRectF(0, 0, room, 1e6), WRAPPED, part).height()

        def draw(painter: QPainter, top: float, part: str = part, height: float = height,
                 first: bool = number == 0) -> None:  # fmt: skip
            draw_text(painter, QRectF(left, top, room, height + 2), part, font, color, WRAPPED)
            if bullet and first:
                draw_text(painter, QRectF(MARGIN, top, 10, 13), "•", font, color)
            if inset:
                painter.setPen(QPen(HAIRLINE, 1.6))
                painter.drawLine(QLineF(MARGIN + 3, top, MARGIN + 3, top + height))

        pages.add(height + 1.5, draw)


def _fitting(text: str, font: QFont, room: float) -> list[str]:
    """Text in parts that each have room on a page: a letter may be longer than that."""
    metrics = QFontMetricsF(font)

    def fits(part: str) -> bool:
        box = metrics.boundingRect(QRectF(0, 0, room, 1e6), WRAPPED, part)
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
