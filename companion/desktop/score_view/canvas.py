"""The desk with the sheets on it: a graphics view that turns input into plain requests."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEasingCurve, QEvent, QPoint, QPointF, Qt, QVariantAnimation, Signal
from PySide6.QtGui import QHelpEvent, QPainter
from PySide6.QtWidgets import QFrame, QGraphicsView, QWidget

from companion.desktop import tips

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QContextMenuEvent, QKeyEvent, QMouseEvent, QResizeEvent, QWheelEvent
    from PySide6.QtWidgets import QGraphicsScene

_CLICK_REACH_PIXELS = 4  # a press that moves further is not a click
_WHEEL_STEP = 120  # one notch of a wheel (Qt documentation); touch pads send less at a time
_TURN_MS = 260


_KEYS = {
    Qt.Key.Key_Left: "left",
    Qt.Key.Key_Right: "right",
    Qt.Key.Key_Up: "up",
    Qt.Key.Key_Down: "down",
    Qt.Key.Key_Home: "home",
    Qt.Key.Key_End: "end",
    Qt.Key.Key_PageUp: "page_up",
    Qt.Key.Key_PageDown: "page_down",
    Qt.Key.Key_Return: "choose",
    Qt.Key.Key_Enter: "choose",
    Qt.Key.Key_Space: "choose",
    Qt.Key.Key_Escape: "clear",
}
_ADDING = Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.ControlModifier


class ScoreCanvas(QGraphicsView):
    """View of the desk.

    Signals
    -------
    point_clicked
        Scene point of a click with the left button.
    point_added
        Scene point of a click with the left button while Shift or Ctrl is held.
    menu_asked
        Scene point and global point: the context menu of what lies there.
    zoom_asked
        Steps of a Ctrl+wheel turn (positive is closer) and the viewport point to keep.
    key_asked
        Name of a move: "left", "right", "up", "down", "home", "end", "page_up", "page_down",
        "choose", "add", "clear".
    resized
        The viewport has a new size.
    scrolled_by_hand
        The person moved the view (wheel, scroll bar or key), not the program.
    """

    point_clicked = Signal(QPointF)
    point_added = Signal(QPointF)
    menu_asked = Signal(QPointF, QPoint)
    zoom_asked = Signal(int, QPoint)
    key_asked = Signal(str)
    resized = Signal()
    scrolled_by_hand = Signal()

    def __init__(self, scene: QGraphicsScene, parent: QWidget | None = None) -> None:
        super().__init__(scene, parent)
        # made here and not by Qt: to give a widget of Qt's own making its right Python class, all
        # classes of widgets that there are would be made ready first (15 ms of the start)
        self._viewport = QWidget()
        self.setViewport(self._viewport)
        self.setFrameShape(QFrame.Shape.NoFrame)
        # repainting the whole viewport for one mark would take several frames
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.MinimalViewportUpdate)
        self.setOptimizationFlag(QGraphicsView.OptimizationFlag.DontSavePainterState)
        self.setRenderHint(QPainter.RenderHint.Antialiasing)
        self.setAlignment(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setResizeAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._tip_for: Callable[[QPointF], str] = lambda _point: ""
        self._pressed_at: QPoint | None = None
        self._wheel_turn = 0
        self._turn = QVariantAnimation(self)
        self._turn.setDuration(_TURN_MS)
        self._turn.setEasingCurve(QEasingCurve.Type.InOutCubic)
        self._turn.valueChanged.connect(self._turn_step)
        self.animated = True
        self.verticalScrollBar().actionTriggered.connect(self._bar_moved)

    def set_tip_source(self, tip_for: Callable[[QPointF], str]) -> None:
        """Set what gives the tooltip for a scene point; empty for none."""
        self._tip_for = tip_for

    # -- moving ----------------------------------------------------------------------------------

    def go_to(self, top: float, *, smoothly: bool) -> None:
        """Scroll so that ``top`` (pixels from the top of the desk) is the upper edge."""
        bar = self.verticalScrollBar()
        target = max(bar.minimum(), min(bar.maximum(), round(top)))
        self._turn.stop()
        if not (smoothly and self.animated and self.isVisible()):
            bar.setValue(target)
            return
        self._turn.setStartValue(bar.value())
        self._turn.setEndValue(target)
        self._turn.start()

    def is_turning(self) -> bool:
        """Whether a smooth scroll is under way."""
        return self._turn.state() == QVariantAnimation.State.Running

    def turning_to(self) -> int:
        """Where the view will be when the turn under way is done."""
        return int(self._turn.endValue()) if self.is_turning() else self.verticalScrollBar().value()

    def _turn_step(self, value: object) -> None:
        if isinstance(value, int):
            self.verticalScrollBar().setValue(value)

    def _bar_moved(self, _action: int) -> None:
        self._turn.stop()
        self.scrolled_by_hand.emit()

    # -- events ----------------------------------------------------------------------------------

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Ctrl+wheel zooms, the plain wheel scrolls."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self._wheel_turn += event.angleDelta().y()
            steps = int(self._wheel_turn / _WHEEL_STEP)
            self._wheel_turn -= steps * _WHEEL_STEP
            if steps:
                self.zoom_asked.emit(steps, event.position().toPoint())
            event.accept()
            return
        self._turn.stop()
        super().wheelEvent(event)
        self.scrolled_by_hand.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Moves and choices; all other keys go up to the window."""
        plain = event.modifiers() in (
            Qt.KeyboardModifier.NoModifier,
            Qt.KeyboardModifier.KeypadModifier,
        )
        name = _KEYS.get(Qt.Key(event.key())) if plain else None
        shift_only = event.modifiers() == Qt.KeyboardModifier.ShiftModifier
        if shift_only and _KEYS.get(Qt.Key(event.key())) == "choose":
            name = "add"
        if name is None:
            event.ignore()
            return
        self.key_asked.emit(name)
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Remember where a click began."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._pressed_at = event.position().toPoint()
        event.accept()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A click, unless the pointer was dragged."""
        began, self._pressed_at = self._pressed_at, None
        here = event.position().toPoint()
        if began is not None and (here - began).manhattanLength() <= _CLICK_REACH_PIXELS:
            adds = bool(event.modifiers() & _ADDING)
            clicked = self.point_added if adds else self.point_clicked
            clicked.emit(self.mapToScene(here))
        event.accept()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Ask for the menu of what lies under the pointer, or of what is selected."""
        self.menu_asked.emit(self.mapToScene(event.pos()), event.globalPos())
        event.accept()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Tell the owner, which fits the sheets again."""
        super().resizeEvent(event)
        self.resized.emit()

    def viewportEvent(self, event: QEvent) -> bool:
        """Show tooltips from the source."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            tip = self._tip_for(self.mapToScene(event.pos()))
            tips.show(event.globalPos(), tip, self.viewport())
            return True
        return super().viewportEvent(event)
