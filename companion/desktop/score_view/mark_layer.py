"""All pencil marks of a score: kept as values, shown where their sheet is built."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QColor

from companion.desktop.score_view.mark_items import MarkItem, mark_colour, spot_for
from companion.desktop.score_view.marks import ON_A_NOTE, Mark, MarkKind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from companion.desktop.score_view.score_index import ScoreIndex
    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.desktop.score_view.sheet import SheetItem


class MarkLayer:
    """Writes and erases marks.

    Parameters
    ----------
    index
        Where things are.
    sheets
        The sheets on the desk by page index; the owner keeps the mapping up to date.
    palette
        Colours of the pencil.
    """

    def __init__(
        self, index: ScoreIndex, sheets: Mapping[int, SheetItem], palette: ScorePalette
    ) -> None:
        self._index = index
        self._sheets = sheets
        self._palette = palette
        self._marks: dict[str, Mark] = {}
        self._items: dict[str, MarkItem] = {}

    @property
    def marks(self) -> list[Mark]:
        """What is written now."""
        return list(self._marks.values())

    def item(self, mark: Mark) -> MarkItem | None:
        """The scene item of a mark; None while its sheet is not built, and for a right note."""
        return self._items.get(mark.key)

    def write(self, mark: Mark) -> None:
        """Write a mark; the one in its place before is erased."""
        self._take_away(mark.key)
        self._marks[mark.key] = mark
        self._show(mark)

    def replace_all(self, marks: Iterable[Mark]) -> None:
        """Erase everything and write these, leaving alone what stays the same."""
        wanted = {mark.key: mark for mark in marks}
        for key in [k for k, mark in self._marks.items() if wanted.get(k) != mark]:
            self._take_away(key)
            del self._marks[key]
        for key, mark in wanted.items():
            if key not in self._marks:
                self._marks[key] = mark
                self._show(mark)

    def sheet_built(self, page: int) -> None:
        """Show the marks of a sheet whose print has just been built."""
        for mark in self._marks.values():
            spot = spot_for(mark, self._index)
            if spot is not None and spot.page == page:
                self._show(mark)

    def sheet_removed(self, page: int) -> None:
        """Let go of the items on a sheet that leaves the desk; the marks stay."""
        gone = []
        for key, mark in self._marks.items():
            spot = spot_for(mark, self._index)
            if spot is not None and spot.page == page:
                gone.append(key)
        for key in gone:
            self._items.pop(key, None)

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colours."""
        self._palette = palette
        for item in self._items.values():
            item.set_palette(palette)
        for mark in self._marks.values():
            self._colour_head(mark, erase=False)

    def clear(self) -> None:
        """Forget everything; the items go with their sheets."""
        self._marks.clear()
        self._items.clear()

    def _show(self, mark: Mark) -> None:
        self._colour_head(mark, erase=False)
        if mark.kind is MarkKind.RIGHT:
            return
        spot = spot_for(mark, self._index)
        sheet = self._sheets.get(spot.page) if spot else None
        if spot is None or sheet is None or not sheet.built:
            return
        if mark.key in self._items:
            self._discard(mark.key)
        self._items[mark.key] = MarkItem(mark, spot, self._palette, sheet.systems[spot.system])

    def _take_away(self, key: str) -> None:
        mark = self._marks.get(key)
        if mark is not None:
            self._colour_head(mark, erase=True)
            self._discard(key)

    def _discard(self, key: str) -> None:
        item = self._items.pop(key, None)
        if item is not None and item.scene() is not None:
            item.scene().removeItem(item)

    def _colour_head(self, mark: Mark, *, erase: bool) -> None:
        placed = self._index.head(mark.note_id) if mark.kind in ON_A_NOTE else None
        sheet = self._sheets.get(placed.page) if placed else None
        head = sheet.heads.get(mark.note_id) if sheet else None
        if head is None:
            return
        tinted = mark.kind in (MarkKind.RIGHT, MarkKind.WRONG) and not erase
        colour = mark_colour(mark.kind, self._palette) if tinted else QColor(self._palette.ink)
        head.setBrush(colour)
