"""Groups of running notes as light brackets, and fingers as small figures, on the engraved score.

Brackets stand above the notes of the right hand and below those of the left. Each one reaches to
its goal, the note that the group leads to, and ends there in a small wedge. Fingers that the
pianist has set are upright, suggested ones lean. All of it stands as near to the notes as the print
allows, and beneath tempo and rehearsal marks, which move up as far as is needed.
"""

from __future__ import annotations

from collections import defaultdict
from functools import lru_cache
from math import floor
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtGui import QColor, QPainterPath, QTransform

from companion.desktop.score_view.ink import InkItem
from companion.desktop.score_view.lane_room import Rect, Room, turned
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
_OFF_PRINT = 0.3  # staff spaces between print and what is written above or below it
_OFF_WORDS = 0.6  # and between that and tempo marks
_BELOW_LINE = 0.25
_LEVELS = 1.0
_FARTHEST_BRACKET = 16.0
_FINGER_EM = 1.75
_FINGER_HEIGHT = 0.65 * _FINGER_EM
_FINGER_HALF_WIDTH = 0.7  # reaches to the stem
_FINGER_STEP = 1.2  # of fingers above each other, in a chord


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


class WrittenSign(NamedTuple):
    """Where a finger stands on its page, or, without a text, a part of a bracket.

    ``system`` counts on the page; ``below`` is for the left hand.
    """

    text: str
    rect: Rect
    system: int
    below: bool


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
        self._written: dict[int, list[WrittenSign]] = {}

    @property
    def groups(self) -> Sequence[GroupLine]:
        """The brackets."""
        return self._groups

    @property
    def fingers(self) -> Sequence[FingerSign]:
        """The fingers."""
        return self._fingers

    def written_on(self, page: int) -> Sequence[WrittenSign]:
        """What stands on a page; nothing while it is hidden or its sheet not built."""
        return self._written.get(page, ())

    def set_content(self, groups: Iterable[GroupLine], fingers: Iterable[FingerSign]) -> None:
        """Replace everything."""
        self._groups, self._fingers = tuple(groups), tuple(fingers)
        self._redraw()

    def clear(self, index: ScoreIndex) -> None:
        """Forget everything, for a new score; the items go with their sheets."""
        super().clear(index)
        self._groups, self._fingers = (), ()
        self._written.clear()

    def sheet_removed(self, page: int) -> None:
        """Let go of the items on a sheet that leaves the desk."""
        super().sheet_removed(page)
        self._written.pop(page, None)

    # -- drawing ---------------------------------------------------------------------------------

    def _redraw(self) -> None:
        for sheet in self._sheets.values():
            sheet.raise_words({})
        self._written.clear()
        super()._redraw()

    def _draw(self, page: int) -> None:
        engraved = next((each for each in self._index.pages if each.index == page), None)
        if engraved is None:
            return
        own, light = QPainterPath(), QPainterPath()
        raised: dict[int, float] = {}
        written = self._written[page] = []
        columns, rows = self._columns(page), self._rows(page)
        for system in engraved.systems:
            print_there = self._index.print_of(page, system)
            for hand in Hand:
                rects = print_there if hand is Hand.RIGHT else map(turned, print_there)
                side = _Side(self._index, hand, Room(rects), system.index)
                for column in columns.get((system.index, hand), ()):
                    for sign, path in side.fingers(column):
                        (own if sign.own else light).addPath(path)
                for group, heads in rows.get((system.index, hand), ()):
                    path = side.bracket(group, heads)
                    (own if group.own else light).addPath(path)
                written.extend(side.written_on_page)
                if hand is Hand.RIGHT:
                    above = Room(sign.rect for sign in side.written)
                    raised |= self._raised(page, system.index, above)
        self._sheets[page].raise_words(raised)
        for path, kind in ((own, InkItem), (light, _LightInk)):
            if not path.isEmpty():
                drawn = Drawn(((path.controlPointRect(), path),), ())
                item = kind(drawn, (), self._palette, self._sheets[page], cached=self._cached)
                self._items[page].append(item)

    def _columns(self, page: int) -> Mapping[tuple[int, Hand], list[_Column]]:
        """The fingers of a page by system and hand, those of a chord together, left to right."""
        found: dict[tuple[int, Hand, int, int], _Column] = defaultdict(list)
        for sign in self._fingers:
            placed = self._index.head(sign.note_id)
            measure = self._index.measure(placed.head.measure_index) if placed else None
            if placed is not None and measure is not None and placed.page == page:
                head = placed.head
                key = (
                    measure.system.index,
                    sign.hand,
                    head.measure_index,
                    round(head.box.centre_x),
                )
                found[key].append((placed, sign))
        sorted_by_side: dict[tuple[int, Hand], list[_Column]] = defaultdict(list)
        for (system, hand, _, _), column in sorted(found.items(), key=lambda item: item[0][2:]):
            sorted_by_side[system, hand].append(column)
        return sorted_by_side

    def _rows(
        self, page: int
    ) -> Mapping[tuple[int, Hand], list[tuple[GroupLine, list[PlacedHead]]]]:
        """The brackets of a page by system and hand: a group on two systems has two."""
        found: dict[tuple[int, Hand], list[tuple[GroupLine, list[PlacedHead]]]] = defaultdict(list)
        for group in self._groups:
            by_system: dict[int, list[PlacedHead]] = defaultdict(list)
            for note_id in dict.fromkeys((*group.note_ids, *group.goal_ids[:1])):
                placed = self._index.head(note_id)
                measure = self._index.measure(placed.head.measure_index) if placed else None
                if placed is not None and measure is not None and placed.page == page:
                    by_system[measure.system.index].append(placed)
            inside = frozenset(group.note_ids)
            for system, heads in by_system.items():
                # where only the goal stands the bracket has ended with the system before
                if any(each.head.note_id in inside for each in heads):
                    found[system, group.hand].append((group, heads))
        return found

    def _raised(self, page: int, system: int, written: Room) -> dict[int, float]:
        """By how much the marks above each measure go up, to stand above what is written.

        The lowest ones first: what stood above a mark that goes up gives way to it.
        """
        marks = [
            (measure.measure_index, words)
            for measure in self._index.measures_on(page)
            if measure.system == system and (words := self._index.words_above(page, measure))
        ]
        marks.sort(key=lambda mark: max(word.bottom for word in mark[1]), reverse=True)
        found = {}
        for measure_index, words in marks:
            needed = 0.0
            for word in words:
                top = written.top_of(word.left - _OFF_PRINT, word.right + _OFF_PRINT)
                if top is not None:
                    needed = max(needed, word.bottom + _OFF_WORDS - top)
            if needed:
                found[measure_index] = needed
            for word in words:
                written.add(word._replace(top=word.top - needed, bottom=word.bottom - needed))
        return found


_Column = list[tuple["PlacedHead", FingerSign]]


class _Side:
    """Places the signs of one hand on one system: those of the left hand upside down."""

    def __init__(self, index: ScoreIndex, hand: Hand, room: Room, system: int) -> None:
        self._index = index
        self._room = room
        self._system = system
        self._up = hand is Hand.RIGHT
        self.written: list[WrittenSign] = []

    @property
    def written_on_page(self) -> Iterable[WrittenSign]:
        """What was placed, as the page has it."""
        for sign in self.written:
            yield sign if self._up else sign._replace(rect=turned(sign.rect))

    def _note(self, text: str, rect: Rect) -> None:
        self.written.append(WrittenSign(text, rect, self._system, not self._up))

    def _seen(self, y: float) -> float:
        """A y of the page as this side counts it, and back."""
        return y if self._up else -y

    def _edge(self, heads: Iterable[PlacedHead]) -> float:
        """The outer edge of staff and heads, as this side counts."""
        edges = []
        for placed in heads:
            box = placed.head.box
            edges.append(box.y if self._up else -box.bottom)
            measure = self._index.measure(placed.head.measure_index)
            staves = measure.measure.staves if measure is not None else ()
            if staves:
                number = 1 if self._up else min(placed.head.staff, len(staves))
                staff = staves[number - 1].box
                edges.append(staff.y if self._up else -staff.bottom)
        return min(edges)

    def fingers(self, column: _Column) -> Iterable[tuple[FingerSign, QPainterPath]]:
        """The fingers of what is struck together: outwards from the nearest note."""
        column.sort(key=lambda pair: self._seen(pair[0].head.box.y), reverse=True)
        x = column[0][0].head.box.centre_x
        height = _FINGER_HEIGHT + (len(column) - 1) * _FINGER_STEP
        left, right = x - _FINGER_HALF_WIDTH, x + _FINGER_HALF_WIDTH
        start = self._edge(placed for placed, _ in column)
        bottom = self._room.free_bottom(left, right, start, height + 2 * _OFF_PRINT) - _OFF_PRINT
        self._room.add(Rect(left, bottom - height, right, bottom))
        for place, (_, sign) in enumerate(column):
            edge = bottom - place * _FINGER_STEP
            baseline = edge if self._up else -edge + _FINGER_HEIGHT
            width = letters_width(str(sign.finger), italic=not sign.own) * _FINGER_EM
            rect = Rect(x - width / 2, edge - _FINGER_HEIGHT, x + width / 2, edge)
            self._note(str(sign.finger), rect)
            yield sign, _figure(sign.finger, sign.own).translated(x - width / 2, baseline)

    def bracket(self, group: GroupLine, heads: Sequence[PlacedHead]) -> QPainterPath:
        """The bracket of a group on this system."""
        left = min(each.head.box.x for each in heads) - 0.15
        right = max(each.head.box.right for each in heads) + 0.15
        y = self._free_line(left, right, self._edge(heads) - _OFF_PRINT - _SERIF)
        for rect in (
            Rect(left, y - _LINE, right, y + _LINE),
            Rect(left, y, left + _LINE, y + _SERIF),
            Rect(right - _LINE, y, right, y + _SERIF),
        ):
            self._room.add(rect)
            self._note("", rect)
        goal = group.goal_ids[0] if group.goal_ids else None
        reaches_goal = any(each.head.note_id == goal for each in heads)
        return self._drawn_bracket(left, right, self._seen(y), reaches_goal=reaches_goal)

    def _free_line(self, left: float, right: float, start: float) -> float:
        """The y of a bracket that touches nothing, on a grid, so that neighbours stand level."""
        y = start
        while True:
            level = floor(y / _LEVELS) * _LEVELS
            line = self._room.free_bottom(
                left, right, level + _LINE + _BELOW_LINE, 2 * _LINE + 2 * _BELOW_LINE
            )
            ends = (
                self._room.free_bottom(end - 0.2, end + 0.2, level + _SERIF, _SERIF)
                for end in (left, right)
            )
            lowest = min(line - _LINE - _BELOW_LINE, *(end - _SERIF for end in ends))
            if lowest >= level - 1e-6 or start - lowest > _FARTHEST_BRACKET:
                return level
            y = lowest

    def _drawn_bracket(
        self, left: float, right: float, y: float, *, reaches_goal: bool
    ) -> QPainterPath:
        down = 1.0 if self._up else -1.0
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
