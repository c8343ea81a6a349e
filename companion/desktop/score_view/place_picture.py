"""A few measures as a picture, for pages that ask about a place of the score."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QPainter, QPixmap
from PySide6.QtWidgets import QGraphicsScene

from companion.desktop.score_view.outlines import GlyphPaths
from companion.desktop.score_view.sheet import SheetItem

if TYPE_CHECKING:
    from companion.desktop.score_view.score_index import PlacedMeasure
    from companion.desktop.score_view.score_palette import ScorePalette
    from companion.score.engraving.model import EngravedPage

_PIXELS_PER_SPACE = 6.0
_AROUND = 2.0  # staff spaces above and below
_AROUND_SNIPPET = 1.0
_PIXELS_PER_SPACE_OF_SNIPPET = 8.0
_MARK_WIDTH = 0.35


def picture_of_place(
    page: EngravedPage,
    placed: PlacedMeasure,
    x: float | None,
    width_pixels: int,
    ratio: float,
    palette: ScorePalette,
) -> QPixmap:
    """Draw the part of a system around a measure.

    Parameters
    ----------
    x
        Where the place stands on the page, None for nowhere.
    width_pixels
        Room for the picture; it is never wider.
    ratio
        Device pixels of a pixel.
    """
    system = placed.system
    scene = _scene(page, palette)
    width = min(width_pixels / _PIXELS_PER_SPACE, system.outer_box.width + 2 * _AROUND)
    left = placed.measure.box.centre_x - width / 2
    left = max(left, system.outer_box.x - _AROUND)
    left = min(left, system.outer_box.right + _AROUND - width)
    source = QRectF(
        left,
        system.outer_box.y - _AROUND,
        width,
        system.outer_box.height + 2 * _AROUND,
    )
    if x is not None:
        box = system.box
        mark = QRectF(x - _MARK_WIDTH / 2, box.y - _AROUND / 2, _MARK_WIDTH, box.height + _AROUND)
        scene.addRect(mark, QColor(0, 0, 0, 0), QColor(palette.place)).setOpacity(0.6)
    return _painted(scene, source, _PIXELS_PER_SPACE, ratio, palette)


def picture_of_snippet(
    page: EngravedPage, width_pixels: int, ratio: float, palette: ScorePalette
) -> QPixmap:
    """Draw the only system of a page, smaller where it would be wider than there is room."""
    box = page.systems[0].outer_box
    for head in page.noteheads:
        box = box.united(head.box)
    source = QRectF(box.x, box.y, box.width, box.height).adjusted(
        -_AROUND_SNIPPET, -_AROUND_SNIPPET, _AROUND_SNIPPET, _AROUND_SNIPPET
    )
    pixels = min(_PIXELS_PER_SPACE_OF_SNIPPET, width_pixels / source.width())
    return _painted(_scene(page, palette), source, pixels, ratio, palette)


def _scene(page: EngravedPage, palette: ScorePalette) -> QGraphicsScene:
    scene = QGraphicsScene()
    sheet = SheetItem(page.width, page.height, "", palette, cached=False)
    scene.addItem(sheet)
    for _ in sheet.build(page, GlyphPaths()):
        pass
    return scene


def _painted(
    scene: QGraphicsScene,
    source: QRectF,
    pixels_per_space: float,
    ratio: float,
    palette: ScorePalette,
) -> QPixmap:
    picture = QPixmap(
        round(source.width() * pixels_per_space * ratio),
        round(source.height() * pixels_per_space * ratio),
    )
    picture.setDevicePixelRatio(ratio)
    picture.fill(QColor(palette.paper))
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    target = QRectF(0.0, 0.0, picture.width() / ratio, picture.height() / ratio)
    scene.render(painter, target, source)
    painter.end()
    return picture
