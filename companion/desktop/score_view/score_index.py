"""Finds things on the engraved pages: notes, measures, systems, and the x of a place in time.

Knows nothing of Qt or of the screen: all in staff spaces of the page it names.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from companion.desktop.score_view.lane_room import pieces_of, rect_of_box
from companion.score.engraving.shapes import outline_boxes, shape_box

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from companion.desktop.score_view.lane_room import Rect
    from companion.score.engraving.model import (
        Box,
        EngravedMeasure,
        EngravedPage,
        EngravedSystem,
        Notehead,
    )
    from companion.score.model import Measure, ScoreNote

FARTHEST_SIGN = 4.0
"""Staff spaces that a sign may move away from its staff to find free paper."""


@dataclass(frozen=True, slots=True)
class PlacedMeasure:
    """A measure and the page it stands on."""

    page: int
    measure: EngravedMeasure
    system: EngravedSystem


class PlacedHead(NamedTuple):
    """A notehead and the page it stands on."""

    page: int
    head: Notehead


class Spot(NamedTuple):
    """A point on a page."""

    page: int
    x: float
    y: float


class ScoreIndex:
    """All that the pages hold, by id and by place; grows as pages arrive."""

    def __init__(self) -> None:
        self._pages: dict[int, EngravedPage] = {}
        self._glyph_boxes: dict[int, dict[str, Box]] = {}
        self._measures: dict[int, PlacedMeasure] = {}
        self._heads: dict[str, PlacedHead] = {}
        self._notes: dict[str, ScoreNote] = {}
        self._notes_of_measure: dict[int, list[ScoreNote]] = {}
        self._written: dict[int, Measure] = {}
        self._anchors: dict[int, tuple[list[float], list[float]]] = {}
        self._print: dict[tuple[int, int], tuple[Rect, ...]] = {}

    # -- filling ---------------------------------------------------------------------------------

    def add_page(self, page: EngravedPage) -> None:
        """Take in a page; one with the same index is forgotten first."""
        self._forget(page.index)
        self._pages[page.index] = page
        self._print = {key: found for key, found in self._print.items() if key[0] != page.index}
        self._glyph_boxes[page.index] = outline_boxes(page.glyphs)
        for measure in page.measures:
            placed = PlacedMeasure(page.index, measure, page.systems[measure.system])
            self._measures[measure.measure_index] = placed
            self._anchors.pop(measure.measure_index, None)
        for head in page.noteheads:
            self._heads[head.note_id] = PlacedHead(page.index, head)

    def _forget(self, page_index: int) -> None:
        if page_index not in self._pages:
            return
        self._measures = {k: m for k, m in self._measures.items() if m.page != page_index}
        self._heads = {k: h for k, h in self._heads.items() if h.page != page_index}
        self._anchors.clear()

    def set_notes(self, notes: Iterable[ScoreNote], measures: Iterable[Measure]) -> None:
        """Tell when the notes are played, so that a time has an x."""
        self._notes = {}
        self._notes_of_measure = {}
        for note in notes:
            self._notes[note.note_id] = note
            self._notes_of_measure.setdefault(note.measure_index, []).append(note)
        self._written = {measure.index: measure for measure in measures}
        self._anchors.clear()

    # -- looking up ------------------------------------------------------------------------------

    @property
    def pages(self) -> list[EngravedPage]:
        """The pages that have arrived, in order."""
        return [self._pages[index] for index in sorted(self._pages)]

    def head(self, note_id: str) -> PlacedHead | None:
        """The head of a note; None while its page is missing, and for notes without a head."""
        return self._heads.get(note_id)

    def note(self, note_id: str) -> ScoreNote | None:
        """The written note behind an id."""
        return self._notes.get(note_id)

    def notes_in(self, measure_index: int) -> list[ScoreNote]:
        """The written notes of a measure in the order they were given."""
        return self._notes_of_measure.get(measure_index, [])

    def written(self, measure_index: int) -> Measure | None:
        """The written measure with its number and length."""
        return self._written.get(measure_index)

    def measure(self, measure_index: int) -> PlacedMeasure | None:
        """The engraved measure; None while its page is missing."""
        return self._measures.get(measure_index)

    @property
    def last_measure(self) -> int:
        """The highest measure index that is engraved; -1 for none."""
        return max(self._measures, default=-1)

    def measures_between(self, first: int, last: int) -> list[PlacedMeasure]:
        """Engraved measures with index from ``first`` to ``last``, both included."""
        found = (self._measures.get(index) for index in range(first, last + 1))
        return [placed for placed in found if placed is not None]

    def measures_on(self, page: int) -> Sequence[EngravedMeasure]:
        """The measures of a page, in order."""
        return self._pages[page].measures if page in self._pages else ()

    def x_at(self, measure_index: int, offset_quarters: float) -> float | None:
        """Return the x of a time in a measure: on the notes where there are, else between them."""
        placed = self._measures.get(measure_index)
        if placed is None:
            return None
        offsets, xs = self._anchors_of(measure_index, placed.measure)
        right = bisect_right(offsets, offset_quarters)
        if right == 0:
            return xs[0]
        if right == len(offsets):
            return xs[-1]
        left = right - 1
        share = (offset_quarters - offsets[left]) / (offsets[right] - offsets[left])
        return xs[left] + share * (xs[right] - xs[left])

    def _anchors_of(
        self, measure_index: int, measure: EngravedMeasure
    ) -> tuple[list[float], list[float]]:
        if measure_index not in self._anchors:
            self._anchors[measure_index] = self._make_anchors(measure_index, measure)
        return self._anchors[measure_index]

    def _make_anchors(
        self, measure_index: int, measure: EngravedMeasure
    ) -> tuple[list[float], list[float]]:
        """Offsets and xs, both rising: one pair per onset, the ends of the measure around them."""
        by_offset: dict[float, float] = {}
        for note in self._notes_of_measure.get(measure_index, []):
            placed = self._heads.get(note.note_id)
            if placed is None or note.grace:
                continue
            offset = float(note.measure_offset_quarters)
            x = placed.head.box.centre_x
            by_offset[offset] = min(x, by_offset.get(offset, x))
        written = self._written.get(measure_index)
        length = float(written.duration_quarters) if written else max(by_offset, default=0.0) + 1.0
        by_offset.setdefault(0.0, measure.content_left + 1.0)
        offsets, xs = [], list[float]()
        for offset in sorted(by_offset):
            if not xs or by_offset[offset] > xs[-1]:  # a displaced head must not turn time back
                offsets.append(offset)
                xs.append(by_offset[offset])
        if length > offsets[-1]:
            offsets.append(length)
            xs.append(max(measure.box.right - 0.5, xs[-1]))
        return offsets, xs

    # -- free room for signs -----------------------------------------------------------------------

    def print_of(self, page: int, system: EngravedSystem) -> Sequence[Rect]:
        """All that is printed of a system in small rectangles, but for marks that may move up."""
        key = page, system.index
        if key not in self._print:
            self._print[key] = tuple(self._find_print_of(page, system))
        return self._print[key]

    def _find_print_of(self, page: int, system: EngravedSystem) -> Iterator[Rect]:
        engraved, boxes = self._pages[page], self._glyph_boxes[page]
        for shape in system.shapes:
            yield from pieces_of(shape, boxes)
        for measure in engraved.measures:
            if measure.system == system.index:
                for shape in measure.shapes:
                    yield from pieces_of(shape, boxes)
        for head in engraved.noteheads:
            if system.first_measure <= head.measure_index <= system.last_measure:
                yield rect_of_box(head.box)

    def words_above(self, page: int, measure: EngravedMeasure) -> list[Rect]:
        """The marks of a measure that may move up."""
        boxes = self._glyph_boxes[page]
        return [rect_of_box(shape_box(shape, boxes)) for shape in measure.words_above]

    def free_above(self, placed: PlacedMeasure, x: float, half_width: float) -> float:
        """The y above the first staff and above what is printed around ``x``."""
        staff = placed.measure.staves[0].box if placed.measure.staves else placed.measure.box
        highest = staff.y - FARTHEST_SIGN
        found = [
            box.y
            for box in self._print_around(placed, x, half_width)
            if highest - 2.0 < box.y < staff.y and box.bottom < staff.bottom + 2.0
        ]
        return max(highest, min([staff.y, *found]))

    def free_below(self, placed: PlacedMeasure, staff: int, x: float, half_width: float) -> float:
        """The y below a staff (counted from 1) and below what is printed around ``x``."""
        staves = placed.measure.staves
        box = staves[min(max(staff, 1), len(staves)) - 1].box if staves else placed.measure.box
        lowest = box.bottom + FARTHEST_SIGN
        found = [
            other.bottom
            for other in self._print_around(placed, x, half_width)
            if box.bottom < other.bottom < lowest + 2.0 and other.y > box.y - 2.0
        ]
        return min(lowest, max([box.bottom, *found]))

    def _print_around(self, placed: PlacedMeasure, x: float, half_width: float) -> Iterator[Box]:
        page = self._pages[placed.page]
        for head in page.noteheads:
            if head.measure_index == placed.measure.measure_index:
                box = head.box
                if box.x < x + half_width and box.right > x - half_width:
                    yield box
        glyph_boxes = self._glyph_boxes[placed.page]
        # brackets of endings belong to the system
        measure = placed.measure
        for shape in (*measure.shapes, *measure.words_above, *placed.system.shapes):
            box = shape_box(shape, glyph_boxes)
            if box.x < x + half_width and box.right > x - half_width:
                yield box

    # -- what lies under a point -----------------------------------------------------------------

    def measure_at(self, spot: Spot) -> PlacedMeasure | None:
        """The measure under a point: between staff lines or within reach above and below."""
        page = self._pages.get(spot.page)
        if page is None or not page.systems:
            return None
        system = min(page.systems, key=lambda s: _distance(s.box, spot.y))
        for measure in page.measures:
            if measure.system == system.index and measure.box.x <= spot.x <= measure.box.right:
                return self._measures.get(measure.measure_index)
        return None

    def head_at(self, spot: Spot, reach: float = 0.35) -> Notehead | None:
        """The notehead under a point, or the nearest one within ``reach`` spaces of it."""
        page = self._pages.get(spot.page)
        best: tuple[float, Notehead] | None = None
        for head in page.noteheads if page else ():
            box = head.box
            if not (
                box.x - reach <= spot.x <= box.right + reach
                and box.y - reach <= spot.y <= box.bottom + reach
            ):
                continue
            distance = abs(box.centre_x - spot.x) + abs(box.centre_y - spot.y)
            if best is None or distance < best[0]:
                best = (distance, head)
        return best[1] if best else None


def _distance(box: Box, y: float) -> float:
    return max(box.y - y, 0.0, y - box.bottom)
