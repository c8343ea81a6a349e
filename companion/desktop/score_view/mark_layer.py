"""All pencil marks of a score: kept as values, shown where their sheet is built.

A take may leave thousands of marks. They are compared with what is on the page already, the pages
in sight are brought up to date at once and the others in the time that is left over.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer

from companion.desktop.score_view.mark_items import MarkItem, MarkSpot, spot_for
from companion.desktop.score_view.marks import ON_A_NOTE, Mark, MarkKind, note_key

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    from companion.desktop.score_view.score_index import ScoreIndex
    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.desktop.score_view.sheet import SheetItem

_NAME_WIDTH, _NAME_HEIGHT = 1.8, 3.1  # room for a caret and the name of a key, in staff spaces
_SLICE_SECONDS = 0.005


class MarkLayer(QObject):
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
        self,
        index: ScoreIndex,
        sheets: Mapping[int, SheetItem],
        palette: ScorePalette,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._index = index
        self._sheets = sheets
        self._palette = palette
        self._marks: dict[str, Mark] = {}  # what shall be on the pages
        self._shown: dict[str, Mark] = {}  # what is, as far as sheets are built
        self._items: dict[str, MarkItem] = {}
        self._stale: dict[str, None] = {}  # keys that are not up to date, in order
        self._timer = QTimer(self)
        self._timer.setInterval(0)
        self._timer.timeout.connect(self._update_slice)

    @property
    def marks(self) -> list[Mark]:
        """What is written now."""
        return list(self._marks.values())

    @property
    def is_up_to_date(self) -> bool:
        """Whether all marks on built sheets can be seen."""
        return not self._stale

    def item(self, mark: Mark) -> MarkItem | None:
        """The scene item of a mark; None while its sheet is not built."""
        return self._items.get(mark.key)

    # -- writing ---------------------------------------------------------------------------------

    def write(self, mark: Mark) -> None:
        """Write a mark at once; the one in its place before is erased."""
        self._marks[mark.key] = mark
        self._update(mark.key)

    def replace_all(self, marks: Iterable[Mark], in_sight: Collection[int] = ()) -> None:
        """Write these marks and erase all others: on the pages in sight at once."""
        self._marks = {mark.key: mark for mark in marks}
        now, later = [], dict.fromkeys(self._stale)
        for key in {**self._shown, **self._marks}:
            wanted, shown = self._marks.get(key), self._shown.get(key)
            if wanted == shown:
                continue
            if self._page_of(wanted or shown) in in_sight:
                now.append(key)
            else:
                later[key] = None
        for key in now:
            self._update(key)
        self._stale = later
        self._timer.start()

    def finish(self) -> None:
        """Bring all pages up to date at once."""
        for key in list(self._stale):
            self._update(key)
        self._stale.clear()

    def clear(self, index: ScoreIndex) -> None:
        """Forget everything, for a new score; the items go with their sheets."""
        self._timer.stop()
        for values in (self._marks, self._shown, self._items, self._stale):
            values.clear()
        self._index = index

    # -- sheets ----------------------------------------------------------------------------------

    def sheet_built(self, page: int) -> None:
        """Show the marks of a sheet whose print has just been built."""
        keys = [note_key(note_id) for note_id in self._sheets[page].heads]
        keys += [
            key
            for key, mark in self._marks.items()
            if self._is_without_head(mark) and self._page_of(mark) == page
        ]
        for key in keys:
            if key in self._marks:
                self._shown.pop(key, None)
                self._stale[key] = None
        self._timer.start()

    def sheet_removed(self, page: int) -> None:
        """Let go of the items on a sheet that leaves the desk; the marks stay."""
        sheet = self._sheets.get(page)
        for key, item in list(self._items.items()):
            if item.topLevelItem() is sheet:
                del self._items[key]
                self._shown.pop(key, None)

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colours."""
        self._palette = palette
        for item in self._items.values():
            item.set_palette(palette)

    # -- bringing up to date ---------------------------------------------------------------------

    def _update_slice(self) -> None:
        end = time.perf_counter() + _SLICE_SECONDS
        while self._stale and time.perf_counter() < end:
            key = next(iter(self._stale))
            del self._stale[key]
            self._update(key)
        if not self._stale:
            self._timer.stop()

    def _update(self, key: str) -> None:
        wanted, shown = self._marks.get(key), self._shown.get(key)
        if shown is not None:
            del self._shown[key]
            item = self._items.pop(key, None)
            if item is not None and item.scene() is not None:
                item.scene().removeItem(item)
        if wanted is not None and self._show(wanted):
            self._shown[key] = wanted

    def _show(self, mark: Mark) -> bool:
        """Draw a mark; False when its sheet is not there yet."""
        page = self._page_of(mark)
        sheet = self._sheets.get(page) if page is not None else None
        if sheet is None or not sheet.built:
            return False
        spot = spot_for(mark, self._index)
        if spot is None:
            return False
        parent = sheet.systems[spot.system]
        spot = self._beside_others(mark, spot)
        self._items[mark.key] = MarkItem(mark, spot, self._palette, parent)
        return True

    def _page_of(self, mark: Mark | None) -> int | None:
        if mark is None:
            return None
        placed = self._index.head(mark.note_id) if mark.note_id else None
        if placed is not None and (mark.kind in ON_A_NOTE or mark.position is None):
            return placed.page
        spot = spot_for(mark, self._index)
        return spot.page if spot else None

    def _is_without_head(self, mark: Mark) -> bool:
        return mark.kind not in ON_A_NOTE or self._index.head(mark.note_id) is None

    def _beside_others(self, mark: Mark, spot: MarkSpot) -> MarkSpot:
        """Move an added note below those that stand at the same place already."""
        if mark.kind is not MarkKind.ADDED:
            return spot
        parent = self._sheets[spot.page].systems[spot.system]
        heights = [
            item.pos().y()
            for item in parent.childItems()
            if isinstance(item, MarkItem)
            and item.mark.kind is MarkKind.ADDED
            and abs(item.pos().x() - spot.x) < _NAME_WIDTH
        ]
        y = spot.y
        while any(abs(height - y) < _NAME_HEIGHT - 0.1 for height in heights):
            y += _NAME_HEIGHT
        return spot._replace(y=y)
