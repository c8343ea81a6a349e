"""The sections of a row as a strip: known grey, lapsed hatched, learnt with its clean days."""

from __future__ import annotations

from PySide6.QtCore import QLineF, QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem

from companion.desktop.packets.studio_model import SECTIONS_ROLE
from companion.desktop.palette import Palette
from companion.history.knowing.known import State
from companion.practice.packets.studio import StudioRow

_WIDTH, _HEIGHT, _EDGE = 190, 14, 6


class SectionStrip(QStyledItemDelegate):
    """Draws the strip of a row; the words are its tool tip."""

    def __init__(self, palette: Palette) -> None:
        super().__init__()
        self.colours = palette

    def sizeHint(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        """As wide as a strip that can be read."""
        return QSize(_WIDTH, super().sizeHint(option, index).height())

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Draw the background as in every cell, then the sections."""
        super().paint(painter, option, index)
        row = index.data(SECTIONS_ROLE)
        if isinstance(row, StudioRow):
            rect = QRectF(option.rect).adjusted(_EDGE, 0, -_EDGE, 0)
            rect.setTop(rect.center().y() - _HEIGHT / 2)
            rect.setHeight(_HEIGHT)
            draw_sections(painter, rect, row, self.colours)


def draw_sections(painter: QPainter, rect: QRectF, row: StudioRow, colours: Palette) -> None:
    """Draw the sections of a row into a rectangle."""
    count = row.report.measure_count or max((s.to_measure_index for s in row.sections), default=1)
    scale = rect.width() / max(1, count)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for section in row.sections:
        width = max(1, section.to_measure_index - section.from_measure_index) * scale
        box = QRectF(
            rect.left() + section.from_measure_index * scale, rect.top(), max(2.0, width - 1.5),
            rect.height(),
        )  # fmt: skip
        painter.setPen(QPen(QColor(colours.graphite), 0.8))
        known = section.state is State.KNOWN
        painter.setBrush(QColor(colours.shading) if known else Qt.BrushStyle.NoBrush)
        painter.drawRect(box)
        if section.state is State.LAPSED:
            painter.save()
            painter.setClipRect(box)
            painter.setPen(QPen(QColor(colours.attention_text), 1.2))
            x = box.left() - box.height()
            while x < box.right():
                painter.drawLine(QLineF(x, box.bottom(), x + box.height(), box.top()))
                x += 5
            painter.restore()
        elif section.state is State.LEARNING and section.days_to_know:
            share = section.clean_days / section.days_to_know
            foot = QRectF(box.left(), box.bottom() - 4, box.width() * share, 4)
            painter.fillRect(foot, QColor(colours.graphite))
    painter.restore()
