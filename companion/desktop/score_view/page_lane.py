"""Something written on the sheets beside the print: shown or hidden as a whole, drawn per sheet."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from companion.desktop.score_view.ink import InkItem
    from companion.desktop.score_view.score_index import ScoreIndex
    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.desktop.score_view.sheet import SheetItem


class PageLane:
    """Draws on the sheets that are built; what it draws stands in :meth:`_draw`.

    Parameters
    ----------
    index
        Where things are.
    sheets
        The sheets on the desk by page index; the owner keeps the mapping up to date.
    cached
        Keep painted pictures; not for printers.
    """

    def __init__(
        self,
        index: ScoreIndex,
        sheets: Mapping[int, SheetItem],
        palette: ScorePalette,
        *,
        cached: bool = True,
    ) -> None:
        self._index = index
        self._sheets = sheets
        self._palette = palette
        self._cached = cached
        self._shown = False
        self._items: dict[int, list[InkItem]] = defaultdict(list)

    @property
    def shown(self) -> bool:
        """Whether it is to be seen."""
        return self._shown

    def show(self, shown: bool) -> None:
        """Show or hide all of it."""
        if shown != self._shown:
            self._shown = shown
            self._redraw()

    def clear(self, index: ScoreIndex) -> None:
        """Forget everything, for a new score; the items go with their sheets."""
        self._items.clear()
        self._index = index

    def sheet_built(self, page: int) -> None:
        """Draw on a sheet whose print has just been built."""
        if self._shown:
            self._draw(page)

    def sheet_removed(self, page: int) -> None:
        """Let go of the items on a sheet that leaves the desk."""
        self._items.pop(page, None)

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colours."""
        self._palette = palette
        for items in self._items.values():
            for item in items:
                item.set_palette(palette)

    def _redraw(self) -> None:
        for items in self._items.values():
            for item in items:
                if item.scene() is not None:
                    item.scene().removeItem(item)
        self._items.clear()
        if self._shown:
            for page, sheet in self._sheets.items():
                if sheet.built:
                    self._draw(page)

    def _draw(self, page: int) -> None:
        """Draw on a sheet that is built, each item noted in ``_items`` of its page."""
        raise NotImplementedError
