"""Finds paper with nothing printed on it, for the signs and names that the pencil adds.

Everything is in staff spaces of the page. Staff lines count as free: whatever is written in a staff
crosses them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainterPath
from PySide6.QtWidgets import QGraphicsPathItem

from companion.desktop.score_view.ink import InkItem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PySide6.QtWidgets import QGraphicsItem

_STEP = 0.4
_FARTHEST = 8.0  # staff spaces that a name may move away from its note
_AROUND = QRectF(-7.0, -_FARTHEST - 3.0, 14.0, 2 * _FARTHEST + 6.0)


class FreePaper:
    """The print and pencil of one system around one point, but for one sign that asks."""

    def __init__(self, system: QGraphicsItem, point: QPointF, asking: QGraphicsItem) -> None:
        self._around = _AROUND.translated(point)
        self._inks: list[InkItem] = []
        self._taken: list[QRectF] = []
        for item in system.childItems():
            if isinstance(item, InkItem):
                if item.rect().intersects(self._around):
                    self._inks.append(item)
            elif item is not asking and isinstance(item, QGraphicsPathItem):
                self._take(item)

    def _take(self, item: QGraphicsPathItem) -> None:
        rect = item.boundingRect().translated(item.pos())
        if item.childItems():  # the name of a key belongs to its sign
            rect = rect.united(item.childrenBoundingRect().translated(item.pos()))
        if rect.intersects(self._around) and item.zValue() >= 0:
            self._taken.append(rect)

    def is_free(self, rect: QRectF) -> bool:
        """Whether nothing is printed or written there."""
        return not any(taken.intersects(rect) for taken in self._taken) and not any(
            ink.touches(rect) for ink in self._inks
        )

    def raised(self, rect: QRectF) -> float:
        """How far a sign must be raised to stand free; 0 where nothing helps."""
        for step in range(round(_FARTHEST / _STEP)):
            if self.is_free(rect.translated(0.0, -step * _STEP)):
                return step * _STEP
        return 0.0


def place_of_name(name: QPainterPath, reach: float, paper: FreePaper, head: QPointF) -> QPointF:
    """Where the name of a key may stand, as a shift from its note.

    Parameters
    ----------
    name
        The letters, the start of their baseline at (0, 0).
    reach
        How far the sign on the note reaches to each side.
    paper
        What is around the note.
    head
        Where the note is.

    Returns
    -------
    QPointF
        Beside the end of the stroke where there is room, else the nearest free place above or
        below the note; where there is none, beside the stroke all the same.
    """
    box = name.boundingRect().adjusted(-0.15, -0.15, 0.15, 0.15)
    for shift in _candidates(box, reach):
        if paper.is_free(box.translated(head + shift)):
            return shift
    return QPointF(reach + 0.1, -0.75)


def _candidates(box: QRectF, reach: float) -> Iterator[QPointF]:
    right, left = reach + 0.1, -reach - 0.1 - box.width()
    yield QPointF(right, -0.75)
    yield QPointF(left, 0.75 + box.height())
    yield QPointF(right, 0.75 + box.height())
    yield QPointF(left, -0.75)
    middle = -box.width() / 2
    for step in range(round(_FARTHEST / _STEP)):
        away = 1.5 + step * _STEP
        yield QPointF(middle, -away)
        yield QPointF(middle, away + box.height())
