"""Tasks under the sections of the map: a light bracket over the measures of each, and its word.

Tasks overlap, so they lie in as many rows as they need. A kept task has a solid line, a proposed
one a dashed line; the word says what it asks for where there is room, a tooltip says it always.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from companion.desktop import typography
from companion.desktop.palette import Palette
from companion.desktop.section_map import wording
from companion.desktop.section_map.layout import MARGIN_PIXELS, TASK_PIXELS, MapLayout
from companion.score.model import Position
from companion.score.sections.section_map import Section

MOST_ROWS = 4
"""More tasks above each other are found in the list alone."""

_FOOT_PIXELS = 4.0
_STUB_PIXELS = 6.0
_GAP_PIXELS = 4.0
_INSET_PIXELS = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MapTask:
    """A task as the map shows it.

    Parameters
    ----------
    words
        What may be written on it, the longest first.
    sentence
        All about it, to be read aloud or in a tooltip.
    kept
        False for a proposal.
    """

    task_id: str
    start: Position
    end: Position
    words: tuple[str, ...]
    sentence: str
    kept: bool = False


@dataclass(frozen=True, slots=True)
class TaskLane:
    """The tasks of a map in order of place, and the one that is chosen."""

    tasks: tuple[MapTask, ...] = ()
    chosen_id: str | None = None

    def with_tasks(self, tasks: Sequence[MapTask]) -> TaskLane:
        """Show other tasks; the chosen one stays chosen where it still exists."""
        there = any(task.task_id == self.chosen_id for task in tasks)
        return TaskLane(tuple(tasks), self.chosen_id if there else None)

    def choosing(self, task_id: str | None) -> TaskLane:
        """Choose a task, None for none."""
        return replace(self, chosen_id=task_id)

    @property
    def chosen(self) -> MapTask | None:
        """The chosen task."""
        return next((task for task in self.tasks if task.task_id == self.chosen_id), None)

    @property
    def rows(self) -> tuple[tuple[MapTask, ...], ...]:
        """The tasks so that none overlaps another in its row; what finds no row is left out."""
        rows: list[list[MapTask]] = []
        for task in self.tasks:
            free = next((row for row in rows if row[-1].end <= task.start), None)
            if free is not None:
                free.append(task)
            elif len(rows) < MOST_ROWS:
                rows.append([task])
        return tuple(tuple(row) for row in rows)

    def inside(self, section: Section) -> MapTask | None:
        """The first task that begins in a section."""
        return next((task for task in self.tasks if section.contains(task.start)), None)

    def beside(self, step: int) -> MapTask | None:
        """The task ``step`` places from the chosen one, None at the ends."""
        chosen = self.chosen
        if chosen is None:
            return None
        index = self.tasks.index(chosen) + step
        return self.tasks[index] if 0 <= index < len(self.tasks) else None

    def task_at(self, layout: MapLayout, x: float, y: float) -> MapTask | None:
        """The task under a point."""
        if not layout.with_lanes or y < layout.tasks_top:
            return None
        row = int((y - layout.tasks_top) // TASK_PIXELS)
        rows = self.rows
        if row >= len(rows):
            return None
        return next(
            (t for t in rows[row] if layout.x_at(t.start) <= x < layout.x_at(t.end)),
            None,
        )

    def is_name_at(self, layout: MapLayout, x: float, y: float) -> bool:
        """Whether the name of the lane lies under a point."""
        height = layout.task_rows * TASK_PIXELS
        return layout.with_lanes and x < layout.left and 0 <= y - layout.tasks_top < height

    def paint(self, painter: QPainter, layout: MapLayout, palette: Palette) -> None:
        """Draw all tasks."""
        if not layout.with_lanes or not layout.task_rows:
            return
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        painter.setPen(QColor(palette.graphite))
        painter.drawText(
            QRectF(MARGIN_PIXELS, layout.tasks_top, layout.left - MARGIN_PIXELS - 8, TASK_PIXELS),
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
            wording.tr("tasks"),
        )
        painter.setPen(QPen(QColor(palette.hairline), 1))
        base = layout.tasks_top + layout.task_rows * TASK_PIXELS - 0.5
        right = layout.left + layout.measure_width * len(layout.measures)
        painter.drawLine(QPointF(MARGIN_PIXELS, base), QPointF(right, base))
        for number, row in enumerate(self.rows):
            for task in row:
                rect = QRectF(
                    layout.x_at(task.start),
                    layout.tasks_top + number * TASK_PIXELS,
                    layout.x_at(task.end) - layout.x_at(task.start),
                    TASK_PIXELS,
                )
                _paint_task(painter, palette, task, rect, chosen=task.task_id == self.chosen_id)


def _paint_task(
    painter: QPainter, palette: Palette, task: MapTask, rect: QRectF, *, chosen: bool
) -> None:
    """A line with a foot at each end, interrupted by the word."""
    left, right = rect.left() + _INSET_PIXELS, rect.right() - _INSET_PIXELS
    middle = round(rect.center().y()) + 0.5
    if chosen:
        painter.fillRect(rect.adjusted(1, 1, -1, -1), QColor(palette.place_wash))
    colour = QColor(palette.place if chosen else palette.graphite)
    metrics = QFontMetricsF(painter.font())
    room = right - left - 2 * (_STUB_PIXELS + _GAP_PIXELS)
    word = next((w for w in task.words if metrics.horizontalAdvance(w) <= room), "")
    width = metrics.horizontalAdvance(word)
    pen = QPen(colour, 2 if chosen else 1)
    painter.setPen(pen)
    for x in (left, right):
        foot = round(x) + 0.5
        painter.drawLine(QPointF(foot, middle - _FOOT_PIXELS), QPointF(foot, middle + _FOOT_PIXELS))
    if not task.kept:
        pen.setDashPattern([4.0, 3.0])
        painter.setPen(pen)
    if not word:
        painter.drawLine(QPointF(left, middle), QPointF(right, middle))
        return
    begins = left + _STUB_PIXELS + _GAP_PIXELS
    painter.drawLine(QPointF(left, middle), QPointF(left + _STUB_PIXELS, middle))
    painter.drawLine(QPointF(begins + width + _GAP_PIXELS, middle), QPointF(right, middle))
    painter.setPen(QColor(palette.place if chosen else palette.ink))
    painter.drawText(
        QRectF(begins, rect.top(), width + 1, rect.height()),
        Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
        word,
    )
