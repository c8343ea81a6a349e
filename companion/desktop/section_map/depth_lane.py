"""Since when each section is known, as depth: a core drilled through the days under each section.

The surface is today, the foot of the lane the day on which the first section became known. Through
the days on which a section was known the core is filled, with a seam for every so many days: the
longer it is known, the deeper it reaches. A lapse is hatched; before that there is nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QPainter, QPen

from companion.desktop import typography
from companion.desktop.palette import Palette
from companion.desktop.section_map import wording
from companion.desktop.section_map.layout import DEPTH_PIXELS, MARGIN_PIXELS, MapLayout
from companion.history.definitions import definition
from companion.score.sections.section_map import Section

LEAST_DAYS = 7
"""So many days the lane is deep at least: a core of a day or two must look shallow."""

MOST_DAYS = 365
"""What is known for longer reaches through the foot of the lane."""

_SEAMS = ((1, "day"), (7, "week"), (30, "30 days"), (91, "91 days"))
_LEAST_SEAM_PIXELS = 3.0
_INSET_PIXELS = 4.0
_CORE_PIXELS = 15.0
_TEXT_GAP_PIXELS = 7.0


@dataclass(frozen=True, slots=True)
class DepthLayer:
    """Days without a change: from ``newest`` to ``oldest`` days ago; known, or lapsed."""

    newest: int
    oldest: int
    lapsed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionDepth:
    """The core of one section.

    Parameters
    ----------
    layers
        From the surface down.
    words
        What is written beside it, the longest first; a line each for since when and how long.
    sentence
        All about it, to be read aloud or in a tooltip.
    """

    section_id: str
    layers: tuple[DepthLayer, ...] = ()
    words: tuple[str, ...] = ()
    sentence: str = ""


@dataclass(frozen=True)
class DepthLane:
    """The cores of all sections; empty before anything was played cold."""

    sections: tuple[SectionDepth, ...] = field(default=(), repr=False)

    @cached_property
    def days(self) -> int:
        """How many days the lane is deep."""
        oldest = (layer.oldest for section in self.sections for layer in section.layers)
        return min(max((*oldest, LEAST_DAYS)), MOST_DAYS)

    @cached_property
    def seam(self) -> tuple[int, str]:
        """Days between two seams of a core, and their name."""
        per_day = DEPTH_PIXELS / self.days
        return next((s for s in _SEAMS if s[0] * per_day >= _LEAST_SEAM_PIXELS), _SEAMS[-1])

    def of_section(self, section_id: str) -> SectionDepth | None:
        """The core of a section."""
        return next((each for each in self.sections if each.section_id == section_id), None)

    def y_at(self, top: float, days_ago: float) -> float:
        """Place of a day in a lane with this upper edge."""
        return top + DEPTH_PIXELS * min(1.0, days_ago / self.days)

    def words_at(self, layout: MapLayout, x: float, y: float) -> str | None:
        """What lies under a point of the lane; None for a point outside of it."""
        if not layout.with_lanes or not 0 <= y - layout.depth_top < layout.depth_pixels:
            return None
        if x < layout.left:
            told = wording.tr(
                "The core reaches down through the days, {days} of them in all, with a seam for "
                "every {seam}; where it is hatched, the section had lapsed."
            ).format(days=self.days, seam=wording.tr(self.seam[1]))
            return f"{definition('known').sentence} {told}"
        section = next(
            (s for s in layout.leaves if layout.x_at(s.start) <= x < layout.x_at(s.end)), None
        )
        depth = self.of_section(section.section_id) if section is not None else None
        return f"{section.name}: {depth.sentence}" if section and depth else ""

    def steps(self, painter: QPainter, layout: MapLayout, palette: Palette) -> Iterator[None]:
        """Draw the lane, a core at each step."""
        if not layout.depth_pixels:
            return
        self._paint_name(painter, layout, palette)
        yield
        for section in layout.leaves:
            depth = self.of_section(section.section_id)
            if depth is not None:
                self._paint_core(painter, layout, palette, section, depth)
                yield

    def _paint_name(self, painter: QPainter, layout: MapLayout, palette: Palette) -> None:
        top = layout.depth_top
        right = layout.left + layout.measure_width * len(layout.measures)
        painter.setPen(QPen(QColor(palette.hairline), 1))
        foot = top + DEPTH_PIXELS + 0.5
        painter.drawLine(QPointF(MARGIN_PIXELS, foot), QPointF(right, foot))
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        painter.setPen(QColor(palette.graphite))
        room = QRectF(MARGIN_PIXELS, top, layout.left - MARGIN_PIXELS - 8, DEPTH_PIXELS / 2)
        align = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(room, align, wording.tr("known since"))
        deep = wording.tr("{days} days deep").format(days=self.days)
        painter.drawText(room.translated(0, DEPTH_PIXELS / 2), align, deep)

    def _paint_core(
        self,
        painter: QPainter,
        layout: MapLayout,
        palette: Palette,
        section: Section,
        depth: SectionDepth,
    ) -> None:
        top = layout.depth_top
        left = round(layout.x_at(section.start) + _INSET_PIXELS) + 0.5
        room = layout.x_at(section.end) - _INSET_PIXELS - left
        core = QRectF(left, top, max(3.0, min(_CORE_PIXELS, room)), DEPTH_PIXELS)
        for layer in depth.layers:
            upper, lower = self.y_at(top, layer.newest), self.y_at(top, layer.oldest)
            rect = QRectF(core.left(), upper, core.width(), max(2.0, lower - upper))
            if layer.lapsed:
                brush = QBrush(QColor(palette.attention), Qt.BrushStyle.BDiagPattern)
                painter.fillRect(rect, brush)
            else:
                painter.fillRect(rect, QColor(palette.graphite))
                self._paint_seams(painter, palette, rect, layer, top)
        # the tube of the core reaches to the foot: what is empty in it is seen to be missing
        painter.setPen(QPen(QColor(palette.shading), 1))
        painter.drawLine(core.topLeft(), core.bottomLeft())
        painter.drawLine(core.topRight(), core.bottomRight())
        words = core.adjusted(core.width() + _TEXT_GAP_PIXELS, 0, 0, 0)
        words.setWidth(room - core.width() - _TEXT_GAP_PIXELS)
        self._write(painter, palette, words, depth)

    def _paint_seams(
        self, painter: QPainter, palette: Palette, rect: QRectF, layer: DepthLayer, top: float
    ) -> None:
        painter.setPen(QPen(QColor(palette.paper), 1))
        step = self.seam[0]
        for days_ago in range(step, self.days, step):
            if layer.newest < days_ago < layer.oldest:
                y = round(self.y_at(top, days_ago)) + 0.5
                painter.drawLine(QPointF(rect.left(), y), QPointF(rect.right(), y))

    def _write(
        self, painter: QPainter, palette: Palette, rect: QRectF, depth: SectionDepth
    ) -> None:
        """Write beside the core: in two lines, in one, or the shortest words that fit."""
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        metrics = QFontMetricsF(painter.font())
        painter.setPen(QColor(palette.ink if depth.layers else palette.graphite))
        align = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        for words in depth.words:
            lines = words.split("\n")
            if all(metrics.horizontalAdvance(line) <= rect.width() for line in lines):
                height = rect.height() / 2
                for number, line in enumerate(lines):
                    painter.drawText(
                        QRectF(rect.left(), rect.top() + number * height, rect.width(), height),
                        align,
                        line,
                    )
                return
