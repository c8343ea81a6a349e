"""What moves over the sheets leaves nothing behind when the view scrolls at the same time."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QRegion


class Painted(QObject):
    """The region of a viewport that was painted."""

    def __init__(self, viewport):
        super().__init__(viewport)
        self.region = QRegion()
        viewport.installEventFilter(self)

    def eventFilter(self, watched, event):
        if event.type() == QEvent.Type.Paint:
            self.region |= event.region()
        return False


@pytest.mark.parametrize("scrolls", ["before the move", "after the move", "before and after"])
def test_ground_below_the_place_is_repainted_when_the_view_scrolls(view, qtbot, scrolls):
    canvas, bar = view._canvas, view._canvas.verticalScrollBar()
    viewport = canvas.viewport()
    view.set_following(False)
    bar.setValue(40)
    view.show_place(8, 0.0)
    viewport.repaint()
    ground = view._bands._rule.sceneBoundingRect()
    painted = Painted(viewport)
    if "before" in scrolls:
        bar.setValue(bar.value() + 7)
    view.show_place(9, 2.0)
    if "after" in scrolls:
        bar.setValue(bar.value() + 9)
    here = canvas.mapFromScene(ground).boundingRect()
    inside = here.intersected(viewport.rect()).adjusted(1, 1, -1, -1)
    assert not inside.isEmpty()
    qtbot.waitUntil(lambda: QRegion(inside).subtracted(painted.region).isEmpty())
