"""Our painting of a page against another program's picture of the engraver's own SVG.

Staff lines are on whole pixels with us and letters are in another font, so the pictures are
compared after a blur, where print has ink with one of them, and text apart.
"""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from lxml import etree
from PIL import Image, ImageFilter
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QGraphicsScene

from companion.desktop.score_view.outlines import GlyphPaths
from companion.desktop.score_view.printing import ON_PAPER
from companion.desktop.score_view.sheet import SheetItem
from companion.resources import sample_scores_folder
from companion.score.engraving import engraver as engraving
from companion.score.engraving.model import EngravedPage, Layout, Text
from companion.score.reading.prepare import prepare_score

cairosvg = pytest.importorskip("cairosvg", reason="cairosvg is not installed")

PIXELS_PER_SPACE = 10
SAMPLES = sorted(path.name for path in sample_scores_folder().glob("*.musicxml"))


def other_picture(svg: str, size: tuple[int, int]) -> Image.Image:
    tree = etree.fromstring(svg.encode())
    for text in list(tree.iter("{http://www.w3.org/2000/svg}text")):
        text.getparent().remove(text)
    png = cairosvg.svg2png(
        bytestring=etree.tostring(tree),
        output_width=size[0],
        output_height=size[1],
        background_color="white",
    )
    return Image.open(io.BytesIO(png)).convert("L")


def our_picture(page: EngravedPage, size: tuple[int, int]) -> Image.Image:
    scene = QGraphicsScene()
    sheet = SheetItem(page.width, page.height, "", ON_PAPER, cached=False)
    scene.addItem(sheet)
    for _ in sheet.build(page, GlyphPaths()):
        pass
    image = QImage(*size, QImage.Format.Format_Grayscale8)
    image.fill(255)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    scene.render(painter, QRectF(0, 0, *size), QRectF(0, 0, page.width, page.height))
    painter.end()
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(size[1], image.bytesPerLine())
    return Image.fromarray(rows[:, : size[0]].copy())


def without_text(page: EngravedPage) -> EngravedPage:
    measures = tuple(
        replace(
            m,
            shapes=tuple(s for s in m.shapes if not isinstance(s, Text)),
            words_above=tuple(s for s in m.words_above if not isinstance(s, Text)),
        )
        for m in page.measures
    )
    systems = tuple(
        replace(m, shapes=tuple(s for s in m.shapes if not isinstance(s, Text)))
        for m in page.systems
    )
    return replace(page, measures=measures, systems=systems, heading=())


def pictures(name: str, *, forget_heads: int = 0) -> tuple[np.ndarray, np.ndarray]:
    """Their picture and ours of a first page, blurred; as levels of grey."""
    layout = Layout()
    prepared = engraving._prepare(prepare_score(sample_scores_folder() / name).musicxml, layout)
    toolkit = engraving._loaded(etree.tostring(prepared.tree, encoding="unicode"), layout)
    svg = toolkit.renderToSVG(1)
    page = without_text(engraving._page(toolkit, engraving._reader(prepared), 0, layout))
    page = replace(page, noteheads=page.noteheads[forget_heads:])
    size = (round(page.width * PIXELS_PER_SPACE), round(page.height * PIXELS_PER_SPACE))
    blur = ImageFilter.GaussianBlur(2.0)
    theirs = np.asarray(other_picture(svg, size).filter(blur), float)
    ours = np.asarray(our_picture(page, size).filter(blur), float)
    return theirs, ours


def strayed(theirs: np.ndarray, ours: np.ndarray) -> int:
    """Number of pixels that differ by more than the snapping of a staff line can explain."""
    return int((np.abs(theirs - ours) > 90).sum())


@pytest.mark.parametrize("name", SAMPLES)
def test_page_looks_like_the_engravers_own_picture(qapp, name):
    theirs, ours = pictures(name)
    assert np.percentile(np.abs(theirs - ours), 99.9) < 60
    assert strayed(theirs, ours) == 0


def test_one_missing_notehead_would_be_noticed(qapp):
    assert strayed(*pictures(SAMPLES[0], forget_heads=1)) > 10
