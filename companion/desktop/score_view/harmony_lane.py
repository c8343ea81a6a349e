"""The harmony lane: numerals under each system, on one line, the key before the first of them.

A lane stands below all that is printed of its system and leaves the next one alone. Where chords
change faster than there is room, a numeral moves a little to the right rather than over another.
"""

from __future__ import annotations

from bisect import bisect_right
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainterPath

from companion.desktop.score_view.ink import InkItem
from companion.desktop.score_view.numerals import CAPITAL, DrawnNumeral, draw_key, draw_numeral
from companion.desktop.score_view.page_lane import PageLane
from companion.desktop.score_view.print_items import Drawn
from companion.desktop.score_view.score_index import PlacedMeasure

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from companion.desktop.score_view.group_lane import WrittenSign
    from companion.desktop.score_view.score_index import ScoreIndex, Spot
    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.desktop.score_view.sheet import SheetItem
    from companion.score.engraving.model import EngravedPage

_BELOW_PRINT = 0.7  # staff spaces between what is printed and the top of the numerals
_BELOW_SIGNS = 0.5  # and the same for fingers and brackets
_ABOVE_NEXT = 0.6  # and between their foot and the next system
_FOOT = 0.5  # how far figures and letters go below the baseline
_APART = 0.45
_REACH = 0.8  # how far from a numeral a click still means it
_UNDERLINE = 0.14
_LINE_BELOW = 0.4
_LEFT_OF_NOTE = 0.6  # a numeral begins with its notehead
_ABOVE_EDGE = 1.5  # of the paper


class HarmonyLabel(NamedTuple):
    """One numeral of the lane.

    ``key`` is the short name of the key where it changes, else empty; ``doubtful`` numerals carry
    a question mark, ``own`` ones, which the pianist wrote, a line below.
    """

    measure_index: int
    offset_quarters: float
    numeral: str
    key: str = ""
    doubtful: bool = False
    own: bool = False


class _InRow(NamedTuple):
    """A label in its row: outline, left end and width of the numeral."""

    number: int
    path: QPainterPath
    left: float
    width: float

    @property
    def right(self) -> float:
        """Its right end."""
        return self.left + self.width


class _Placed(NamedTuple):
    number: int
    box: QRectF


class HarmonyLane(PageLane):
    """Draws the labels of the sheets that are built.

    Parameters
    ----------
    signs_on
        What else stands beside the print of a page: numerals keep clear of it.
    """

    def __init__(
        self,
        index: ScoreIndex,
        sheets: Mapping[int, SheetItem],
        palette: ScorePalette,
        *,
        cached: bool = True,
        signs_on: Callable[[int], Iterable[WrittenSign]] = lambda _page: (),
    ) -> None:
        super().__init__(index, sheets, palette, cached=cached)
        self._signs_on = signs_on
        self._labels: Sequence[HarmonyLabel] = ()
        self._places: dict[int, list[_Placed]] = {}

    @property
    def labels(self) -> Sequence[HarmonyLabel]:
        """What stands in the lane, in order."""
        return self._labels

    def set_labels(self, labels: Iterable[HarmonyLabel]) -> None:
        """Replace all labels; they must be in order."""
        self._labels = tuple(labels)
        self._redraw()

    def make_room(self) -> None:
        """Draw anew: other signs stand beside the print now."""
        if self._shown:
            self._redraw()

    def clear(self, index: ScoreIndex) -> None:
        """Forget everything, for a new score; the items go with their sheets."""
        super().clear(index)
        self._places.clear()
        self._labels = ()

    def sheet_removed(self, page: int) -> None:
        """Let go of the items on a sheet that leaves the desk."""
        super().sheet_removed(page)
        self._places.pop(page, None)

    def label_at(self, spot: Spot) -> int | None:
        """Index of the label at a point of a page; None where there is none."""
        for placed in self._places.get(spot.page, ()):
            if placed.box.adjusted(-_REACH, -_REACH, _REACH, _REACH).contains(spot.x, spot.y):
                return placed.number
        return None

    def box_of(self, label_index: int) -> tuple[int, QRectF] | None:
        """Page and box of a label; None while its sheet is not built."""
        for page, places in self._places.items():
            for placed in places:
                if placed.number == label_index:
                    return page, placed.box
        return None

    # -- drawing ---------------------------------------------------------------------------------

    def _redraw(self) -> None:
        self._places.clear()
        super()._redraw()

    def _draw(self, page: int) -> None:
        engraved = next((each for each in self._index.pages if each.index == page), None)
        if engraved is None or not self._labels:
            return
        places: list[_Placed] = []
        for number, system in enumerate(engraved.systems):
            row = self._row(system.first_measure, system.last_measure)
            if not row:
                continue
            baseline = self._baseline(engraved, number, row)
            drawn = Drawn(
                tuple(
                    (path.controlPointRect(), path)
                    for path in (each.path.translated(0.0, baseline) for each in row)
                ),
                tuple(
                    QRectF(each.left, baseline + _LINE_BELOW, each.width, _UNDERLINE)
                    for each in row
                    if self._labels[each.number].own
                ),
            )
            places += [
                _Placed(
                    each.number,
                    QRectF(each.left, baseline - CAPITAL - 0.4, each.width, CAPITAL + 0.6),
                )
                for each in row
            ]
            item = InkItem(drawn, (), self._palette, self._sheets[page], cached=self._cached)
            self._items[page].append(item)
        self._places[page] = places

    def _row(self, first: int, last: int) -> list[_InRow]:
        """The labels of some measures, side by side on a baseline at 0."""
        row: list[_InRow] = []
        right = float("-inf")
        begin = bisect_right(self._labels, first - 1, key=lambda label: label.measure_index)
        for index in range(begin, len(self._labels)):
            label = self._labels[index]
            if label.measure_index > last:
                break
            x = self._index.x_at(label.measure_index, label.offset_quarters)
            if x is None:
                continue
            key = _key(label.key) if label.key else DrawnNumeral(QPainterPath(), -_APART)
            numeral = _numeral(label.numeral, label.doubtful)
            # the numeral stands below its note, the key before it
            left = max(x - _LEFT_OF_NOTE, right + _APART + key.width + _APART)
            path = key.path.translated(left - _APART - key.width, 0.0)
            path.addPath(numeral.path.translated(left, 0.0))
            row.append(_InRow(index, path, left, numeral.width))
            right = left + numeral.width
        return row

    def _baseline(self, page: EngravedPage, number: int, row: Sequence[_InRow]) -> float:
        """The y of a row: below the print of its system, above what the next one has below it."""
        system = page.systems[number]
        wanted = system.outer_box.bottom + _BELOW_PRINT + CAPITAL
        lowest = page.height - _ABOVE_EDGE
        closest = system.box.bottom + _BELOW_PRINT + CAPITAL
        for sign in self._signs_on(page.index):
            rect = sign.rect
            if not any(each.left < rect.right + _APART and each.right > rect.left for each in row):
                continue
            if sign.below and sign.system == number:
                closest = max(closest, rect.bottom + _BELOW_SIGNS + CAPITAL)
            elif not sign.below and sign.system == number + 1:
                lowest = min(lowest, rect.top - _ABOVE_NEXT - _FOOT)
        if number + 1 < len(page.systems):
            below = page.systems[number + 1]
            following = [m for m in page.measures if m.system == below.index]
            for each in row:
                middle = each.left + each.width / 2
                for measure in following:
                    if measure.box.x <= middle <= measure.box.right:
                        placed = PlacedMeasure(page.index, measure, below)
                        top = self._index.free_above(placed, middle, each.width / 2 + _APART)
                        lowest = min(lowest, top - _ABOVE_NEXT - _FOOT)
        # where there is too little room the numerals come closer to what stands above them
        return max(min(wanted, lowest), closest)


@lru_cache(maxsize=1024)
def _numeral(numeral: str, doubtful: bool) -> DrawnNumeral:
    return draw_numeral(numeral, doubtful=doubtful)


@lru_cache(maxsize=64)
def _key(name: str) -> DrawnNumeral:
    return draw_key(name)
