"""Printing the score with or without the pencil, in colours for paper."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QFont, QPainter, QTransform
from PySide6.QtWidgets import QGraphicsScene

from companion.desktop import typography
from companion.desktop.score_view.group_lane import GroupLane
from companion.desktop.score_view.harmony_lane import HarmonyLane
from companion.desktop.score_view.lane_room import Rect, Room, rect_of_box
from companion.desktop.score_view.mark_layer import MarkLayer
from companion.desktop.score_view.outlines import GlyphPaths, letters_path, letters_width
from companion.desktop.score_view.score_palette import ScorePalette
from companion.desktop.score_view.sheet import SheetItem
from companion.score.engraving.model import Text
from companion.score.engraving.shapes import shape_box

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

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
_MARGIN, _HEAD, _FOOT = 6.0, 3.6, 1.6
_SHRINK = 0.02  # of the page, on each side
_SECTION_SIZE, _ABOVE_PRINT = 1.9, 0.4
_FONT_PIXELS = 100


class SectionHead(NamedTuple):
    """The name of a section where it begins; ``words`` say what it is for."""

    measure_index: int
    offset_quarters: float
    name: str
    words: str = ""


def print_pages(
    printer: QPagedPaintDevice,
    index: ScoreIndex,
    marks: Sequence[Mark],
    harmony: Sequence[HarmonyLabel] = (),
    title: str = "",
    composer: str = "",
    *,
    groups: GroupLane | None = None,
    sections: Sequence[SectionHead] = (),
) -> None:
    """Print every page that has arrived, each on a sheet of its own.

    ``title`` and ``composer`` stand at the head of every page, its number at the foot, so that
    loose sheets can be put in order again. Sections are named above the system in which they begin.

    What is drawn as outlines (words of the score, numerals, fingers) is written once more without
    ink, so that a PDF can be searched and read aloud.
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
        brackets = GroupLane(index, {page.index: sheet}, ON_PAPER, cached=False)
        if groups is not None and groups.shown:
            brackets.set_content(groups.groups, groups.fingers)
            brackets.show(True)
        lane = HarmonyLane(
            index, {page.index: sheet}, ON_PAPER, cached=False, signs_on=brackets.written_on
        )
        lane.set_labels(harmony)
        lane.show(True)
        whole = QRectF(0.0, 0.0, page.width, page.height)
        # a little smaller than the page, so that what stands above and below stays off the margins
        inner = QRectF(painter.viewport())
        inner.adjust(
            *(
                _SHRINK * side
                for side in (inner.width(), inner.height(), -inner.width(), -inner.height())
            )
        )
        scene.render(painter, inner, whole)
        number = f"{count + 1} / {len(index.pages)}" if len(index.pages) > 1 else ""
        painter.save()
        painter.scale(
            painter.viewport().width() / page.width, painter.viewport().height() / page.height
        )
        _write_margins(painter, page, (title, composer, number))
        painter.translate(_SHRINK * page.width, _SHRINK * page.height)
        painter.scale(1 - 2 * _SHRINK, 1 - 2 * _SHRINK)
        written = brackets.written_on(page.index)
        numerals = list(_placed(lane, page.index))
        signs = [*(sign.rect for sign in written), *(box for _, box in numerals)]
        _write_sections(painter, index, page, sections, signs)
        for text, rect in (
            *_printed_words(page),
            *((label.numeral, box) for label, box in numerals),
            *((sign.text, sign.rect) for sign in written if sign.text),
        ):
            _say(painter, text, rect.left, rect.bottom, rect.bottom - rect.top)
        painter.restore()
    painter.end()


def _write_margins(painter: QPainter, page: EngravedPage, words: tuple[str, str, str]) -> None:
    """Write title, composer and page number into the margins of a page."""
    title, composer, number = words
    right = page.width - _MARGIN
    for text, italic, place in (
        (title, False, 0.0),
        (composer, True, 1.0),
        (number, False, 0.5),
    ):
        width = letters_width(text, italic=italic) * _SIZE
        x = _MARGIN + place * (right - _MARGIN - width)
        y = page.height - _FOOT if text == number else _HEAD
        _write(painter, text, x, y, _SIZE, italic=italic)


def _write_sections(
    painter: QPainter,
    index: ScoreIndex,
    page: EngravedPage,
    sections: Sequence[SectionHead],
    signs: Sequence[Rect],
) -> None:
    """Name each section above everything that stands where it begins."""
    rooms = {
        system.index: Room([*index.print_of(page.index, system), *signs]) for system in page.systems
    }
    for measure in page.measures:
        for words in index.words_above(page.index, measure):
            rooms[measure.system].add(words)
    for head in sections:
        placed = index.measure(head.measure_index)
        x = index.x_at(head.measure_index, head.offset_quarters)
        if placed is None or x is None or placed.page != page.index:
            continue
        purpose = f": {head.words}" if head.words else ""
        name_width = letters_width(head.name) * _SECTION_SIZE
        width = name_width + letters_width(purpose, italic=True) * _SECTION_SIZE
        left = placed.measure.box.x if not head.offset_quarters else x - 1.0
        left = max(_MARGIN, min(left, page.width - _MARGIN - width))
        room = rooms[placed.system.index]
        height = _SECTION_SIZE + 2 * _ABOVE_PRINT
        top = placed.system.box.y
        bottom = room.free_bottom(left, left + width, top, height) - _ABOVE_PRINT
        room.add(Rect(left, bottom - _SECTION_SIZE, left + width, bottom))
        line = QRectF(left - 0.5, bottom - _SECTION_SIZE, 0.16, top - bottom + _SECTION_SIZE)
        painter.fillRect(line, QColor(ON_PAPER.section_edge))
        ink = ON_PAPER.section_edge
        baseline = bottom - 0.25 * _SECTION_SIZE
        _write(painter, head.name, left, baseline, _SECTION_SIZE, ink=ink)
        _write(painter, purpose, left + name_width, baseline, _SECTION_SIZE, italic=True, ink=ink)


def _printed_words(page: EngravedPage) -> Iterator[tuple[str, Rect]]:
    """The words of the score, as they were engraved."""
    shapes = [*page.heading, *(shape for system in page.systems for shape in system.shapes)]
    for measure in page.measures:
        shapes += [*measure.shapes, *measure.words_above]
    for shape in shapes:
        text = "".join(run.text for run in shape.runs) if isinstance(shape, Text) else ""
        if text.strip():
            yield text, rect_of_box(shape_box(shape, {}))


def _placed(lane: HarmonyLane, page: int) -> Iterator[tuple[HarmonyLabel, Rect]]:
    """The numerals that stand on a page."""
    for number, label in enumerate(lane.labels):
        place = lane.box_of(number)
        if place is not None and place[0] == page:
            box = place[1]
            yield label, Rect(box.left(), box.top(), box.right(), box.bottom())


def _write(
    painter: QPainter,
    text: str,
    x: float,
    y: float,
    size: float,
    *,
    italic: bool = False,
    ink: str = ON_PAPER.ink,
) -> None:
    """Write letters in outlines, and what they say; ``size`` is their em, all in staff spaces."""
    if text:
        path = QTransform.fromScale(size, size).map(letters_path(text, italic=italic))
        painter.fillPath(path.translated(x, y), QColor(ink))
        _say(painter, text, x, y, size)


def _say(painter: QPainter, text: str, x: float, y: float, size: float) -> None:
    """Write letters without ink: outlines alone can be neither searched nor read aloud.

    Plain letters, no ligatures and no other figures: a PDF knows only those by name.
    """
    font = QFont(typography.serif_family())
    font.setPixelSize(_FONT_PIXELS)
    for feature in ("liga", "dlig", "clig", "calt"):
        font.setFeature(QFont.Tag(feature), 0)
    painter.save()
    painter.translate(x, y)
    painter.scale(size / _FONT_PIXELS, size / _FONT_PIXELS)
    painter.setFont(font)
    painter.setPen(QColor(0, 0, 0, 0))
    painter.drawText(QPointF(0.0, 0.0), text)
    painter.restore()
