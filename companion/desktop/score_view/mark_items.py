"""A pencil mark as a scene item, and where on the page it goes."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QPainterPath, QPen
from PySide6.QtWidgets import QGraphicsPathItem

from companion.desktop.score_view.free_paper import FreePaper, place_of_name
from companion.desktop.score_view.marks import ON_A_NOTE, Mark, MarkKind
from companion.desktop.score_view.outlines import stroked
from companion.desktop.score_view.pencil import name_path, sign_path

if TYPE_CHECKING:
    from PySide6.QtWidgets import QGraphicsItem

    from companion.desktop.score_view.score_index import PlacedMeasure, ScoreIndex
    from companion.desktop.score_view.score_palette import ScorePalette

_ON_PRINT, _BEHIND_PRINT = 10.0, -1.0
_BELOW_CARET = 2.9
_LOOK_FOR_ROOM = (MarkKind.WRONG, MarkKind.STOP)
_REACH = 1.35  # of the stroke through a head
_HALO = 0.22  # paper around a name, so that it can be read on top of print


class MarkSpot(NamedTuple):
    """Where a mark goes: the page, its system there, and the point of the sign."""

    page: int
    system: int
    x: float
    y: float


def spot_for(mark: Mark, index: ScoreIndex) -> MarkSpot | None:
    """Find the place of a mark; None while its page is missing."""
    placed = index.head(mark.note_id) if mark.note_id else None
    if mark.kind in ON_A_NOTE:
        if placed is None:
            return _spot_of_headless(mark, index)
        box = placed.head.box
        measure = index.measure(placed.head.measure_index)
        system = measure.measure.system if measure else 0
        return MarkSpot(placed.page, system, box.centre_x, box.centre_y)
    if mark.position is not None:
        measure_index = mark.position.measure_index
        offset = float(mark.position.offset_quarters)
        x = index.x_at(measure_index, offset)
        if measure_index > index.last_measure >= 0:  # just behind the last measure
            measure_index = index.last_measure
            x = None
    elif placed is not None:
        measure_index, x = placed.head.measure_index, placed.head.box.centre_x
    else:
        return None
    target = index.measure(measure_index)
    if target is None:
        return None
    if x is None:
        x = target.measure.box.right
    x += _SIDESTEP.get(mark.kind, 0.0)
    return MarkSpot(target.page, target.measure.system, x, _height(mark, target, x, index))


_SIDESTEP = {MarkKind.STOP: -1.7, MarkKind.HESITATION: -1.2}
"""Stops and hesitations come before the note that was late."""


def _spot_of_headless(mark: Mark, index: ScoreIndex) -> MarkSpot | None:
    """A note without a printed head (hidden in the score): on the top line of its staff."""
    note = index.note(mark.note_id)
    placed = index.measure(note.measure_index) if note else None
    if note is None or placed is None:
        return None
    x = index.x_at(note.measure_index, float(note.measure_offset_quarters))
    staves = placed.measure.staves
    box = staves[min(note.staff, len(staves)) - 1].box if staves else placed.measure.box
    return MarkSpot(placed.page, placed.measure.system, x or box.x, box.y)


def _height(mark: Mark, placed: PlacedMeasure, x: float, index: ScoreIndex) -> float:
    if mark.kind is MarkKind.ADDED:
        return index.free_below(placed, mark.staff, x, 0.5) + 0.6
    if mark.kind is MarkKind.STOP:  # a caesura crosses the top line wherever it stands
        staves = placed.measure.staves
        return staves[0].box.y if staves else placed.measure.box.y
    return index.free_above(placed, x, 0.7) - _CLEARANCE[mark.kind]


_CLEARANCE = {MarkKind.HESITATION: 0.3, MarkKind.RESTART: 0.9}


class MarkItem(QGraphicsPathItem):
    """One sign; the name of a key lies on it, on a little paper of its own."""

    def __init__(
        self, mark: Mark, spot: MarkSpot, palette: ScorePalette, parent: QGraphicsItem
    ) -> None:
        super().__init__(sign_path(mark.kind, mark.key), parent)
        self.mark = mark
        self.setPen(QPen(Qt.PenStyle.NoPen))
        self.setPos(spot.x, spot.y)
        self.setZValue(_BEHIND_PRINT if mark.kind is MarkKind.RIGHT else _ON_PRINT)
        paper = FreePaper(parent, self.pos(), self) if mark.kind in _LOOK_FOR_ROOM else None
        if mark.kind is MarkKind.STOP and paper is not None:
            self.moveBy(0.0, -paper.raised(self.boundingRect().translated(self.pos())))
        self._halo: QGraphicsPathItem | None = None
        self._name: QGraphicsPathItem | None = None
        if mark.label:
            shift = self._place_of_name(paper)
            self._halo = QGraphicsPathItem(_halo_path(mark.label), self)
            self._name = QGraphicsPathItem(name_path(mark.label, 0.0, 0.0), self)
            for item in (self._halo, self._name):
                item.setPen(QPen(Qt.PenStyle.NoPen))
                item.setPos(shift)
        self.set_palette(palette)

    def _place_of_name(self, paper: FreePaper | None) -> QPointF:
        name = name_path(self.mark.label, 0.0, 0.0)
        if paper is None:
            return QPointF(-name.boundingRect().center().x(), _BELOW_CARET)
        return place_of_name(name, _REACH, paper, self.pos())

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colours."""
        colour = mark_colour(self.mark.kind, palette)
        self.setBrush(colour)
        if self._halo is not None and self._name is not None:
            self._halo.setBrush(QColor(palette.paper))
            self._name.setBrush(colour)


@cache
def _halo_path(label: str) -> QPainterPath:
    """Paper around a name: to stroke letters takes milliseconds, so it is done once for each."""
    return stroked(name_path(label, 0.0, 0.0), 2 * _HALO, round_ends=True)


def mark_colour(kind: MarkKind, palette: ScorePalette) -> QColor:
    """The pencil for a kind of mark."""
    name = {
        MarkKind.RIGHT: palette.right,
        MarkKind.WRONG: palette.wrong,
        MarkKind.MISSED: palette.missed,
        MarkKind.ADDED: palette.added,
    }.get(kind, palette.stop)
    return QColor(name)
