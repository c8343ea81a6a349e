"""Type and colours of the report, and text in them; sizes are points and grow with the painter."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter

from companion.desktop import typography
from companion.desktop.palette import DAY

INK, GRAPHITE = QColor(DAY.ink), QColor(DAY.graphite)
HAIRLINE, SHADING = QColor(DAY.hairline), QColor(DAY.shading)
ATTENTION = QColor(DAY.attention_text)

TITLE, HEADING, TEXT, SMALL, TINY = 22, 13, 10, 9, 7

LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
WRAPPED = int(Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextWordWrap)


def serif(size: int, *, italic: bool = False) -> QFont:
    """Type for names and sentences."""
    return _sized(typography.serif(italic=italic), size)


def sans(size: int) -> QFont:
    """Type for figures and what is small."""
    return _sized(typography.sans(), size)


def _sized(font: QFont, size: int) -> QFont:
    font.setPixelSize(size)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return font


def draw_text(
    painter: QPainter,
    rect: QRectF,
    text: str,
    font: QFont,
    color: QColor = INK,
    flags: int = LEFT,
) -> None:
    """Draw text into a rectangle."""
    painter.setFont(font)
    painter.setPen(color)
    painter.drawText(rect, flags, text)


def elided(text: str, font: QFont, room: float) -> str:
    """Text that ends with dots where it has no room."""
    return QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, room)


def draw_name(painter: QPainter, rect: QRectF, text: str, size: int, color: QColor) -> None:
    """Text on one line; nothing where next to nothing of it has room."""
    font = sans(size)
    shown = elided(text, font, rect.width() + 1)
    if len(shown) >= min(len(text), 7):
        draw_text(painter, rect, shown, font, color)
