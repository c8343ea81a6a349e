"""Finds paper with nothing printed on it, for the signs and names that the pencil adds.

Everything is in staff spaces of the page. Staff lines count as free: whatever is written in a staff
crosses them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainterPath
from PySide6.QtWidgets import QGraphicsPathItem

from companion.desktop.score_view.ink import InkItem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PySide6.QtWidgets import QGraphicsItem

_STEP = 0.4
_FARTHEST = 8.0  # staff spaces that a name may move away from its note
_AROUND = QRectF(-5.0, -_FARTHEST - 2.0, 10.0, 2 * _FARTHEST + 4.0)


class FreePaper:
    """The print and pencil of one system around one point, but for one sign that asks."""

    def __init__(self, system: QGraphicsItem, point: QPointF, asking: QGraphicsItem) -> None:
        around = _AROUND.translated(point)
        self._printed: list[tuple[QRectF, QPainterPath]] = []
        self._taken: list[QRectF] = []
        # Qt's own index finds what is near: to ask every note of a system takes milliseconds
        near = system.scene().items(
            system.mapRectToScene(around), Qt.ItemSelectionMode.IntersectsItemBoundingRect
        )
        for item in near:
            if isinstance(item, InkItem):
                if system.isAncestorOf(item):
                    printed = item.printed_near(around)
                    self._printed += printed.paths
                    self._taken += printed.rects
            elif isinstance(item, QGraphicsPathItem) and item is not asking:
                behind_print = item.zValue() < 0
                if not behind_print and item.parentItem() is not asking:
                    self._taken.append(item.mapRectToItem(system, item.boundingRect()))

    def is_free(self, rect: QRectF) -> bool:
        """Whether nothing is printed or written there."""
        return not any(taken.intersects(rect) for taken in self._taken) and not any(
            bounds.intersects(rect) and path.intersects(rect) for bounds, path in self._printed
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
