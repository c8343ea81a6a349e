"""One sheet of paper on the desk; its print is built in small steps, so that nothing stalls."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPen
from PySide6.QtWidgets import QGraphicsItem, QGraphicsRectItem

from companion.desktop.score_view.ink import InkItem
from companion.desktop.score_view.outlines import letters_path, letters_width
from companion.desktop.score_view.print_items import (
    ROOM_FOR_MARKS,
    ContainerItem,
    NoteheadItem,
    drawn_shapes,
    rect_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from PySide6.QtGui import QPainter
    from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

    from companion.desktop.score_view.outlines import GlyphPaths
    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.score.engraving.model import EngravedPage, Line, Shape

_WAITING_SIZE = 2.6
_HEADS_PER_STEP = 60


class SheetItem(QGraphicsRectItem):
    """Paper of one page, empty (with a word of waiting) until its print is built.

    Parameters
    ----------
    width, height
        In staff spaces.
    waiting
        Words on the sheet while it is empty.
    cached
        Keep the painted print for the next repaint; not for printers, which want outlines.
    """

    def __init__(
        self,
        width: float,
        height: float,
        waiting: str,
        palette: ScorePalette,
        *,
        cached: bool = True,
    ) -> None:
        self._rect = QRectF(0.0, 0.0, width, height)
        # a little more than the paper, for its edge and for what hangs over
        super().__init__(self._rect.adjusted(-1.0, -1.0, 1.0, 1.0))
        self.setPen(QPen(Qt.PenStyle.NoPen))
        self._waiting = waiting
        self._cached = cached
        self._palette = palette
        self.inks: list[InkItem] = []
        self.words_above: dict[int, InkItem] = {}
        self.systems: list[ContainerItem] = []
        self.heads: dict[str, NoteheadItem] = {}
        self.built = False
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemContainsChildrenInShape)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemUsesExtendedStyleOption)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height in staff spaces."""
        return self._rect.width(), self._rect.height()

    def build(self, page: EngravedPage, glyphs: GlyphPaths) -> Iterator[None]:
        """Build the print; pauses after each measure and after each handful of noteheads."""
        glyphs.learn(page.glyphs)
        ink = QColor(self._palette.ink)
        for system in page.systems:
            # a system's slurs and texts may leave it, its marks even more so
            bounds = rect_of(system.outer_box, ROOM_FOR_MARKS).intersected(self.boundingRect())
            container = ContainerItem(bounds, self)
            self.systems.append(container)
            self._print(system.shapes, (), glyphs, container)
        self._print(page.heading, (), glyphs, self)
        system_of = {m.measure_index: self.systems[m.system] for m in page.measures}
        for measure in page.measures:
            container = system_of[measure.measure_index]
            self._print(measure.shapes, measure.staff_lines, glyphs, container)
            if measure.words_above:
                words = self._print(measure.words_above, (), glyphs, container)
                self.words_above[measure.measure_index] = words
            yield
        for count, head in enumerate(page.noteheads):
            container = system_of[head.measure_index]
            self.heads[head.note_id] = NoteheadItem(head, glyphs, ink, container)
            if count % _HEADS_PER_STEP == _HEADS_PER_STEP - 1:
                yield
        self.built = True
        self.update()

    def _print(
        self,
        shapes: Iterable[Shape],
        staff_lines: Iterable[Line],
        glyphs: GlyphPaths,
        parent: QGraphicsItem,
    ) -> InkItem:
        drawn = drawn_shapes(shapes, glyphs)
        ink = InkItem(drawn, staff_lines, self._palette, parent, cached=self._cached)
        self.inks.append(ink)
        return ink

    def raise_words(self, spaces_by_measure: Mapping[int, float]) -> None:
        """Move tempo and rehearsal marks up by so many staff spaces, all others to their place."""
        for measure_index, words in self.words_above.items():
            words.setY(-spaces_by_measure.get(measure_index, 0.0))

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colours of paper and print; heads that are marked are coloured after."""
        self._palette = palette
        for ink in self.inks:
            ink.set_palette(palette)
        for head in self.heads.values():
            head.setBrush(QColor(palette.ink))
        self.update()

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,
    ) -> None:
        """Paper, edge, and the word of waiting."""
        edge = QPen(QColor(self._palette.paper_edge), 1.0)
        edge.setCosmetic(True)
        exposed: QRectF = option.exposedRect
        painter.fillRect(exposed.intersected(self._rect), QColor(self._palette.paper))
        if not self._rect.contains(exposed):
            painter.setPen(edge)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self._rect)
        if not self.built and self._waiting:
            self._paint_waiting(painter)

    def _paint_waiting(self, painter: QPainter) -> None:
        words = letters_path(self._waiting, italic=True)
        width = letters_width(self._waiting, italic=True) * _WAITING_SIZE
        painter.save()
        painter.translate((self._rect.width() - width) / 2, self._rect.height() / 4)
        painter.scale(_WAITING_SIZE, _WAITING_SIZE)
        painter.fillPath(words, QColor(self._palette.quiet))
        painter.restore()
