"""Notes that the pianist has selected on the page, each in a small frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPen
from PySide6.QtWidgets import QGraphicsRectItem

from companion.desktop.score_view.print_items import rect_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from companion.desktop.score_view.score_index import PlacedMeasure, ScoreIndex
    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.desktop.score_view.sheet import SheetItem

_AROUND = 0.35
_Z = 6.0


class Selection:
    """The selected notes by id, and their frames on the sheets that are built."""

    def __init__(
        self, index: ScoreIndex, sheets: Mapping[int, SheetItem], palette: ScorePalette
    ) -> None:
        self._index = index
        self._sheets = sheets
        self._palette = palette
        self._frames: dict[str, QGraphicsRectItem | None] = {}
        self._measure = -1
        self._cycle = 0

    @property
    def note_ids(self) -> tuple[str, ...]:
        """The selected notes, in the order in which they were selected."""
        return tuple(self._frames)

    def clear(self) -> None:
        """Select nothing."""
        for frame in self._frames.values():
            _remove(frame)
        self._frames = {}
        self._measure = -1

    def choose_note(self, note_id: str) -> None:
        """Select this note alone."""
        self.clear()
        self._add([note_id])

    def toggle_note(self, note_id: str) -> None:
        """Add a note, or take it away again."""
        if note_id in self._frames:
            _remove(self._frames.pop(note_id))
        else:
            self._add([note_id])

    def choose_measure(self, measure_index: int, staff: int | None) -> None:
        """Select the notes of a measure in one staff, None for all staves."""
        self.clear()
        self._measure = measure_index
        self._add(self._notes(measure_index, staff))

    def extend_to(self, measure_index: int, staff: int | None) -> None:
        """Add all measures from the one chosen last up to this one."""
        start = self._measure if self._measure >= 0 else measure_index
        step = 1 if measure_index >= start else -1
        for index in range(start, measure_index + step, step):
            self._add(self._notes(index, staff))
        self._measure = measure_index

    def cycle_measure(self, measure_index: int, staves: int) -> None:
        """By keyboard: all staves of a measure, then one after the other."""
        again = measure_index == self._measure
        self._cycle = (self._cycle + 1) % (staves + 1) if again else 0
        self.choose_measure(measure_index, self._cycle or None)

    def sheet_built(self, page: int) -> None:
        """Frame what a new page shows of the selection."""
        for note_id, frame in list(self._frames.items()):
            placed = self._index.head(note_id)
            if frame is None and placed is not None and placed.page == page:
                self._frames[note_id] = self._frame(note_id)

    def sheet_removed(self, page: int) -> None:
        """Let go of the frames on a sheet that leaves the desk; the selection stays."""
        sheet = self._sheets[page]
        for note_id, frame in self._frames.items():
            if frame is not None and frame.parentItem() is sheet:
                self._frames[note_id] = None

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colour."""
        self._palette = palette
        for frame in self._frames.values():
            if frame is not None:
                frame.setPen(self._pen())

    def _notes(self, measure_index: int, staff: int | None) -> list[str]:
        return [
            note.note_id
            for note in self._index.notes_in(measure_index)
            if staff is None or note.staff == staff
        ]

    def _add(self, note_ids: Iterable[str]) -> None:
        for note_id in note_ids:
            if note_id not in self._frames:
                self._frames[note_id] = self._frame(note_id)

    def _frame(self, note_id: str) -> QGraphicsRectItem | None:
        placed = self._index.head(note_id)
        sheet = self._sheets.get(placed.page) if placed is not None else None
        if placed is None or sheet is None:
            return None
        rect = rect_of(placed.head.box).adjusted(-_AROUND, -_AROUND, _AROUND, _AROUND)
        frame = QGraphicsRectItem(rect, sheet)
        frame.setPen(self._pen())
        frame.setBrush(Qt.BrushStyle.NoBrush)
        frame.setZValue(_Z)
        return frame

    def _pen(self) -> QPen:
        pen = QPen(QColor(self._palette.focus), 1.25)
        pen.setCosmetic(True)
        return pen


def staff_at(placed: PlacedMeasure, y: float) -> int | None:
    """The staff of a measure that is nearest to a height, counted from 1."""
    staves = placed.measure.staves
    if not staves:
        return None
    centres = [abs(staff.box.y + staff.box.height / 2 - y) for staff in staves]
    return centres.index(min(centres)) + 1


def _remove(frame: QGraphicsRectItem | None) -> None:
    if frame is not None and frame.scene() is not None:
        frame.scene().removeItem(frame)
