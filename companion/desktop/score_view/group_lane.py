"""Groups of running notes as light brackets, and fingers as small figures, on the engraved score.

Brackets stand above the notes of the right hand and below those of the left. Each one reaches to
its goal, the note that the group leads to, and ends there in a small wedge. Fingers that the
pianist has set are upright, suggested ones lean.
"""

from __future__ import annotations

from collections import defaultdict
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtGui import QColor, QPainterPath, QTransform

from companion.desktop.score_view.ink import InkItem
from companion.desktop.score_view.outlines import letters_path, letters_width, stroked
from companion.desktop.score_view.page_lane import PageLane
from companion.desktop.score_view.print_items import Drawn
from companion.score.model import Hand

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from companion.desktop.score_view.score_index import PlacedHead, ScoreIndex
    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.desktop.score_view.sheet import SheetItem

_LINE = 0.14
_SERIF = 0.75
_WEDGE = 0.45
_OFF_PRINT = 0.55  # staff spaces between print and what is written above or below it
_FINGER_EM = 1.75
_FINGER_HEIGHT = 0.65 * _FINGER_EM
_FINGER_STEP = 1.45  # of fingers above each other, in a chord


class GroupLine(NamedTuple):
    """A bracket: the notes of a group and those it leads to."""

    note_ids: tuple[str, ...]
    goal_ids: tuple[str, ...]
    hand: Hand
    own: bool = False


class FingerSign(NamedTuple):
    """A finger at a note, 1 to 5."""

    note_id: str
    finger: int
    hand: Hand
    own: bool = False


class _LightInk(InkItem):
    """Print in the colour of a pencil."""

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colours."""
        super().set_palette(palette)
        self._ink = QColor(palette.quiet)


class GroupLane(PageLane):
    """Draws brackets and fingers on the sheets that are built."""

    def __init__(
        self,
        index: ScoreIndex,
        sheets: Mapping[int, SheetItem],
        palette: ScorePalette,
        *,
        cached: bool = True,
    ) -> None:
        super().__init__(index, sheets, palette, cached=cached)
        self._groups: Sequence[GroupLine] = ()
        self._fingers: Sequence[FingerSign] = ()

    @property
    def groups(self) -> Sequence[GroupLine]:
        """The brackets."""
        return self._groups

    @property
    def fingers(self) -> Sequence[FingerSign]:
        """The fingers."""
        return self._fingers

    def set_content(self, groups: Iterable[GroupLine], fingers: Iterable[FingerSign]) -> None:
        """Replace everything."""
        self._groups, self._fingers = tuple(groups), tuple(fingers)
        self._redraw()

    def clear(self, index: ScoreIndex) -> None:
        """Forget everything, for a new score; the items go with their sheets."""
        super().clear(index)
        self._groups, self._fingers = (), ()

    # -- drawing ---------------------------------------------------------------------------------

    def _draw(self, page: int) -> None:
        tops: dict[str, float] = {}
        own, light = QPainterPath(), QPainterPath()
        for sign, x, y in self._finger_places(page):
            figure = _figure(sign.finger, sign.own)
            (own if sign.own else light).addPath(figure.translated(x, y))
            edge = y - _FINGER_HEIGHT if sign.hand is Hand.RIGHT else y
            tops[sign.note_id] = edge
        for group in self._groups:
            for path in self._brackets(group, page, tops):
                (own if group.own else light).addPath(path)
        for path, kind in ((own, InkItem), (light, _LightInk)):
            if not path.isEmpty():
                drawn = Drawn(((path.controlPointRect(), path),), ())
                item = kind(drawn, (), self._palette, self._sheets[page], cached=self._cached)
                self._items[page].append(item)

    def _finger_places(self, page: int) -> Iterable[tuple[FingerSign, float, float]]:
        """Fingers of a page with the left end and the baseline of each."""
        columns: dict[tuple[int, int, Hand], list[tuple[PlacedHead, FingerSign]]] = defaultdict(
            list
        )
        for sign in self._fingers:
            placed = self._index.head(sign.note_id)
            if placed is not None and placed.page == page:
                column = (placed.head.measure_index, round(placed.head.box.centre_x), sign.hand)
                columns[column].append((placed, sign))
        for (measure_index, _, hand), several in columns.items():
            measure = self._index.measure(measure_index)
            if measure is None:
                continue
            several.sort(key=lambda pair: pair[0].head.box.y)
            x = several[0][0].head.box.centre_x
            if hand is Hand.RIGHT:
                y = self._index.free_above(measure, x, 0.6) - _OFF_PRINT
                several.reverse()
                step = -_FINGER_STEP
            else:
                staff = several[-1][0].head.staff
                y = self._index.free_below(measure, staff, x, 0.6) + _OFF_PRINT + _FINGER_HEIGHT
                step = _FINGER_STEP
            for place, (_, sign) in enumerate(several):
                width = letters_width(str(sign.finger), italic=not sign.own) * _FINGER_EM
                yield sign, x - width / 2, y + place * step

    def _brackets(
        self, group: GroupLine, page: int, edges: Mapping[str, float]
    ) -> Iterable[QPainterPath]:
        """The bracket of a group, in parts where it goes over the end of a system."""
        rows: dict[int, list[PlacedHead]] = defaultdict(list)
        ids = dict.fromkeys((*group.note_ids, *group.goal_ids[:1]))
        for note_id in ids:
            placed = self._index.head(note_id)
            measure = self._index.measure(placed.head.measure_index) if placed else None
            if placed is not None and measure is not None and placed.page == page:
                rows[measure.system.index].append(placed)
        goal = group.goal_ids[0] if group.goal_ids else None
        for heads in rows.values():
            inside = [each for each in heads if each.head.note_id in group.note_ids]
            if not inside:
                continue  # only the goal stands here: the bracket ends where the system does
            yield self._bracket(
                group.hand,
                inside,
                heads,
                edges,
                reaches_goal=any(each.head.note_id == goal for each in heads),
            )

    def _bracket(
        self,
        hand: Hand,
        inside: Sequence[PlacedHead],
        heads: Sequence[PlacedHead],
        edges: Mapping[str, float],
        *,
        reaches_goal: bool,
    ) -> QPainterPath:
        left = min(each.head.box.x for each in inside) - 0.15
        right = max(each.head.box.right for each in heads) + 0.15
        above = hand is Hand.RIGHT
        free = []
        for each in heads:
            measure = self._index.measure(each.head.measure_index)
            if measure is None:
                continue
            box = each.head.box
            if above:
                free.append(self._index.free_above(measure, box.centre_x, 1.0))
            else:
                free.append(self._index.free_below(measure, each.head.staff, box.centre_x, 1.0))
            if each.head.note_id in edges:
                free.append(edges[each.head.note_id])
        down = 1.0 if above else -1.0
        y = (min(free) if above else max(free)) - down * (_OFF_PRINT + _SERIF)
        line = QPainterPath()
        line.moveTo(left, y + down * _SERIF)
        line.lineTo(left, y)
        line.lineTo(right, y)
        path = stroked(line, _LINE, round_ends=False)
        if reaches_goal:
            wedge = QPainterPath()
            wedge.moveTo(right - _WEDGE, y)
            wedge.lineTo(right, y)
            wedge.lineTo(right, y + down * _SERIF)
            wedge.closeSubpath()
            path.addPath(wedge)
        return path


@lru_cache(maxsize=16)
def _figure(finger: int, own: bool) -> QPainterPath:
    letters = letters_path(str(finger), italic=not own)
    return QTransform.fromScale(_FINGER_EM, _FINGER_EM).map(letters)
