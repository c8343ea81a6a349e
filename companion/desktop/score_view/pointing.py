"""What the person points at in the score, with the mouse or with the keyboard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QPoint, QPointF, Signal
from PySide6.QtGui import QAccessible, QAccessibleEvent

from companion.desktop.score_view.score_index import Spot
from companion.desktop.score_view.selection import staff_at
from companion.desktop.score_view.wording import describe_place

if TYPE_CHECKING:
    from collections.abc import Callable

    from companion.desktop.score_view.bands import Bands
    from companion.desktop.score_view.canvas import ScoreCanvas
    from companion.desktop.score_view.desk import Desk
    from companion.desktop.score_view.harmony_lane import HarmonyLane
    from companion.desktop.score_view.page_turner import PageTurner
    from companion.desktop.score_view.score_index import ScoreIndex
    from companion.desktop.score_view.selection import Selection

_STEPS = ("left", "right", "up", "down")


class Pointing(QObject):
    """Finds what lies under a point, moves the focus, and chooses notes and measures.

    Signals
    -------
    measure_clicked, note_clicked, measure_focused, menu_asked, harmony_clicked
        As :class:`~companion.desktop.score_view.score_view.ScoreView` passes them on.
    """

    measure_clicked = Signal(int)
    note_clicked = Signal(str)
    measure_focused = Signal(int)
    menu_asked = Signal(QPoint)
    harmony_clicked = Signal(int, QPoint)

    def __init__(
        self, canvas: ScoreCanvas, desk: Desk, turner: PageTurner, harmony: HarmonyLane
    ) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._desk = desk
        self._turner = turner
        self._harmony = harmony
        self.describe: Callable[[str | None, int], str] | None = None
        self.focused = -1
        self.place_measure = -1  # where the player is: the keys begin there
        canvas.set_tip_source(self.tip_at)
        canvas.point_clicked.connect(self._clicked)
        canvas.point_added.connect(self._added)
        canvas.menu_asked.connect(self._menu_wanted)
        canvas.key_asked.connect(self._key)

    def start_anew(self, index: ScoreIndex, bands: Bands, selection: Selection) -> None:
        """Point at another score."""
        self._index, self._bands, self._selection = index, bands, selection
        self.focused = self.place_measure = -1

    # with the mouse

    def _spot(self, point: QPointF) -> Spot | None:
        page = self._desk.page_at(point.x(), point.y())
        if page is None:
            return None
        origin = self._desk.sheets[page].pos()
        return Spot(page, point.x() - origin.x(), point.y() - origin.y())

    def _clicked(self, point: QPointF) -> None:
        spot = self._spot(point)
        if spot is None:
            return
        label = self._harmony.label_at(spot)
        if label is not None:
            where = self._canvas.viewport().mapToGlobal(self._canvas.mapFromScene(point))
            self.harmony_clicked.emit(label, where)
            return
        head = self._index.head_at(spot)
        placed = self._index.measure_at(spot)
        if placed is not None:
            self.focus(placed.measure.measure_index, reveal=False)
        if head is not None:
            self._selection.choose_note(head.note_id)
            self.note_clicked.emit(head.note_id)
        elif placed is not None:
            self._selection.choose_measure(placed.measure.measure_index, staff_at(placed, spot.y))
            self.measure_clicked.emit(placed.measure.measure_index)

    def _added(self, point: QPointF) -> None:
        spot = self._spot(point)
        head = self._index.head_at(spot) if spot is not None else None
        placed = self._index.measure_at(spot) if spot is not None else None
        if head is not None:
            self._selection.toggle_note(head.note_id)
        elif spot is not None and placed is not None:
            self._selection.extend_to(placed.measure.measure_index, staff_at(placed, spot.y))

    def _menu_wanted(self, point: QPointF, where: QPoint) -> None:
        spot = self._spot(point)
        head = self._index.head_at(spot) if spot is not None else None
        inside = head is not None and head.note_id in self._selection.note_ids
        if spot is not None and not inside and (head is not None or not self._selection.note_ids):
            self._clicked(point)
        if self._selection.note_ids:
            self.menu_asked.emit(where)

    def tip_at(self, point: QPointF) -> str:
        """What lies under a point of the scene, in words."""
        spot = self._spot(point)
        if spot is None:
            return ""
        head = self._index.head_at(spot)
        if head is not None:
            return self._description(head.note_id, head.measure_index)
        placed = self._index.measure_at(spot)
        return self._description(None, placed.measure.measure_index) if placed else ""

    def _description(self, note_id: str | None, measure_index: int) -> str:
        if self.describe is not None:
            return self.describe(note_id, measure_index)
        return describe_place(self._index, note_id, measure_index)

    # with the keyboard

    def focus(self, measure_index: int, *, reveal: bool) -> None:
        """Frame a measure, tell readers of the screen, and bring it into sight if asked to."""
        placed = self._index.measure(measure_index)
        if placed is None:
            return
        self._bands.show_focus(placed)
        if reveal:
            self._turner.show(placed)
        if measure_index == self.focused:
            return
        self.focused = measure_index
        self._canvas.setAccessibleDescription(self._description(None, measure_index))
        event = QAccessibleEvent(self._canvas, QAccessible.Event.DescriptionChanged)
        QAccessible.updateAccessibility(event)
        self.measure_focused.emit(measure_index)

    def _key(self, name: str) -> None:
        last = self._index.last_measure
        if last < 0:
            return
        if name in ("choose", "add", "clear"):
            self._select(name)
            return
        self._turner.hands_off()
        if name in ("page_up", "page_down"):
            self._turner.scroll_by_view(1 if name == "page_down" else -1)
            return
        self.focus(max(0, min(last, self._target_of(name, last))), reveal=True)

    def _select(self, name: str) -> None:
        if name == "clear":
            self._selection.clear()
        elif name == "add" and self.focused >= 0:
            self._selection.extend_to(self.focused, None)
        placed = self._index.measure(self.focused) if name == "choose" else None
        if placed is not None:
            self._selection.cycle_measure(self.focused, len(placed.measure.staves))
            self.measure_clicked.emit(self.focused)

    def _target_of(self, name: str, last: int) -> int:
        here = self.focused if self.focused >= 0 else max(self.place_measure, 0)
        if self.focused < 0 and name in _STEPS:
            return here
        target = {"left": here - 1, "right": here + 1, "home": 0, "end": last}.get(name)
        return self._measure_beside(here, 1 if name == "down" else -1) if target is None else target

    def _measure_beside(self, measure_index: int, direction: int) -> int:
        """The measure below or above, in the next or the last system."""
        placed = self._index.measure(measure_index)
        if placed is None:
            return measure_index
        edge = placed.system.last_measure + 1 if direction > 0 else placed.system.first_measure - 1
        other = self._index.measure(edge)
        if other is None:
            return measure_index
        centre = placed.measure.box.centre_x
        row = self._index.measures_between(other.system.first_measure, other.system.last_measure)
        nearest = min(row, key=lambda p: abs(p.measure.box.centre_x - centre))
        return nearest.measure.measure_index
