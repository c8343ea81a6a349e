"""Printing the score with or without the pencil, in colours for paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QPainter, QTransform
from PySide6.QtWidgets import QGraphicsScene

from companion.desktop.score_view.group_lane import GroupLane
from companion.desktop.score_view.harmony_lane import HarmonyLane
from companion.desktop.score_view.mark_layer import MarkLayer
from companion.desktop.score_view.outlines import GlyphPaths, letters_path, letters_width
from companion.desktop.score_view.score_palette import ScorePalette
from companion.desktop.score_view.sheet import SheetItem

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QPagedPaintDevice

    from companion.desktop.score_view.harmony_lane import HarmonyLabel
    from companion.desktop.score_view.marks import Mark
    from companion.desktop.score_view.score_index import ScoreIndex
    from companion.score.engraving.model import EngravedPage

ON_PAPER = ScorePalette(
    desk="#ffffff",
    paper="#ffffff",
    paper_edge="#ffffff",
    ink="#000000",
    staff_line="#000000",
    quiet="#5b5750",
    place="#2f4b7c",
    place_wash="#ffffff",
    section_wash="#ffffff",
    section_edge="#855400",
    focus="#2f4b7c",
    right="#dcdcdc",
    wrong="#a23b2a",
    missed="#855400",
    added="#2f4b7c",
    stop="#5b5750",
)

# words in the margins, in staff spaces: about 10 points on A4
_SIZE = 2.0
_MARGIN, _HEAD, _FOOT = 6.0, 3.6, 2.0


def print_pages(
    printer: QPagedPaintDevice,
    index: ScoreIndex,
    marks: Sequence[Mark],
    harmony: Sequence[HarmonyLabel] = (),
    title: str = "",
    composer: str = "",
    *,
    groups: GroupLane | None = None,
) -> None:
    """Print every page that has arrived, each on a sheet of its own.

    ``title`` and ``composer`` stand at the head of every page, its number at the foot, so that
    loose sheets can be put in order again.
    """
    painter = QPainter(printer)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    glyphs = GlyphPaths()
    for count, page in enumerate(index.pages):
        if count:
            printer.newPage()
        scene = QGraphicsScene()
        sheet = SheetItem(page.width, page.height, "", ON_PAPER, cached=False)
        scene.addItem(sheet)
        for _ in sheet.build(page, glyphs):
            pass
        layer = MarkLayer(index, {page.index: sheet}, ON_PAPER)
        layer.replace_all(marks)
        layer.finish()
        lane = HarmonyLane(index, {page.index: sheet}, ON_PAPER, cached=False)
        lane.set_labels(harmony)
        lane.show(True)
        if groups is not None and groups.shown:
            brackets = GroupLane(index, {page.index: sheet}, ON_PAPER, cached=False)
            brackets.set_content(groups.groups, groups.fingers)
            brackets.show(True)
        target = QRectF(painter.viewport())
        scene.render(painter, target, QRectF(0.0, 0.0, page.width, page.height))
        number = f"{count + 1} / {len(index.pages)}" if len(index.pages) > 1 else ""
        _write_margins(painter, page, (title, composer, number))
    painter.end()


def _write_margins(painter: QPainter, page: EngravedPage, words: tuple[str, str, str]) -> None:
    """Write title, composer and page number into the margins of a page."""
    title, composer, number = words
    painter.save()
    painter.scale(
        painter.viewport().width() / page.width, painter.viewport().height() / page.height
    )
    right = page.width - _MARGIN
    for text, italic, place in (
        (title, False, 0.0),
        (composer, True, 1.0),
        (number, False, 0.5),
    ):
        width = letters_width(text, italic=italic) * _SIZE
        x = _MARGIN + place * (right - _MARGIN - width)
        y = page.height - _FOOT if text == number else _HEAD
        path = QTransform.fromScale(_SIZE, _SIZE).map(letters_path(text, italic=italic))
        painter.fillPath(path.translated(x, y), QColor(ON_PAPER.ink))
    painter.restore()
