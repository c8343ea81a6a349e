"""Printing the score with or without the pencil, in colours for paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QGraphicsScene

from companion.desktop.score_view.harmony_lane import HarmonyLane
from companion.desktop.score_view.mark_layer import MarkLayer
from companion.desktop.score_view.outlines import GlyphPaths
from companion.desktop.score_view.score_palette import ScorePalette
from companion.desktop.score_view.sheet import SheetItem

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QPagedPaintDevice

    from companion.desktop.score_view.harmony_lane import HarmonyLabel
    from companion.desktop.score_view.marks import Mark
    from companion.desktop.score_view.score_index import ScoreIndex

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
    right="#000000",
    wrong="#a23b2a",
    missed="#855400",
    added="#2f4b7c",
    stop="#5b5750",
)


def print_pages(
    printer: QPagedPaintDevice,
    index: ScoreIndex,
    marks: Sequence[Mark],
    harmony: Sequence[HarmonyLabel] = (),
) -> None:
    """Print every page that has arrived, each on a sheet of its own."""
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
        target = QRectF(painter.viewport())
        scene.render(painter, target, QRectF(0.0, 0.0, page.width, page.height))
    painter.end()
