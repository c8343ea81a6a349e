"""Reads the engraver's SVG page into plain shapes.

The SVG says what every element means by its class (``measure``, ``staff``, ``note``,
``notehead``) and whose it is by its id. So one walk down the tree is enough: it composes the
transforms, remembers the measure, staff and note it is in, and hands each drawn element to that
owner.

What the walk relies on (verovio 6.4, raw format, no view box):

- one ``g.page-margin`` moves everything by the margins; below it ``g.system``, ``g.measure``,
  ``g.staff``, ``g.layer`` nest in this order;
- the direct ``path`` children of a staff are its lines;
- ``use`` elements carry a whole transform, a group may be rotated (arpeggios);
- weight and slant of text follow the class of the group, unless a ``tspan`` says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from lxml import etree

from companion.score.engraving.model import (
    Box,
    EngravedMeasure,
    EngravedPage,
    EngravedSystem,
    Glyph,
    Line,
    Notehead,
    Shape,
    StaffBox,
    Text,
)
from companion.score.engraving.paths import (
    Matrix,
    parse_path,
    parse_transform,
)
from companion.score.engraving.shapes import NO_BOX, outline_boxes, read_shape, shape_box
from companion.score.engraving.text import PLAIN, TextStyle, read_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from lxml.etree import _Element as Element

    from companion.score.engraving.model import PathCommand
    from companion.score.engraving.text import GlyphBook

UNITS_PER_SPACE = 180.0
"""Size of a staff space in the SVG: two MEI units of 9, times the engraver's factor of ten."""

_SVG = "{http://www.w3.org/2000/svg}"
_BOLD = {"ending", "fing", "reh", "tempo"}
_ITALIC = {"dir", "dynam", "mNum"}
_SKIPPED = {"bounding-box", "placeholder"}
_WORDS_ABOVE = {"reh", "tempo"}
_BEFORE_NOTES = {"clef", "keySig", "meterSig", "meterSigGrp"}


@dataclass(slots=True)
class _MeasureDraft:
    measure_index: int
    system: int
    shapes: list[Shape] = field(default_factory=list)
    words: list[Shape] = field(default_factory=list)
    staff_lines: list[Line] = field(default_factory=list)
    staves: list[StaffBox] = field(default_factory=list)
    content_left: float = 0.0


@dataclass(slots=True)
class _SystemDraft:
    shapes: list[Shape] = field(default_factory=list)
    measures: list[_MeasureDraft] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where in the tree the walk is."""

    matrix: Matrix
    style: TextStyle = PLAIN
    system: _SystemDraft | None = None
    measure: _MeasureDraft | None = None
    note_id: str = ""
    in_notehead: bool = False
    in_words: bool = False


class PageReader:
    """Reads the pages of one score, keeping the glyph outlines that it has met.

    Parameters
    ----------
    glyph_book
        Outlines and widths of music glyphs that stand inside text.
    measure_indices
        Written measure of each measure id.
    """

    def __init__(self, glyph_book: GlyphBook, measure_indices: Mapping[str, int]) -> None:
        self._book = glyph_book
        self._measure_indices = measure_indices
        self._outlines: dict[str, tuple[PathCommand, ...]] = {}

    def read(self, svg: str, index: int, width: float, height: float) -> EngravedPage:
        """Read page ``index`` from its SVG; ``width`` and ``height`` in staff spaces."""
        root = etree.fromstring(svg.encode("utf-8"), _parser())
        self._learn_outlines(root)
        walk = _Walk(self._measure_indices, self._book)
        scale = 1 / UNITS_PER_SPACE
        for group in root.iter(_SVG + "g"):
            if "page-margin" in _classes(group):
                margin = parse_transform(group.get("transform") or "")
                walk.descend(group, _Place(Matrix(a=scale, d=scale).after(margin)))
                break
        return self._page(walk, index, width, height)

    def _learn_outlines(self, root: Element) -> None:
        definitions = root.find(_SVG + "defs")
        for group in definitions if definitions is not None else ():
            code = (group.get("id") or "").partition("-")[0]
            path = group.find(_SVG + "path")
            if code in self._outlines or path is None:
                continue
            # 250 design units are one staff space (SMuFL: an em of 1000 is 4 spaces)
            matrix = Matrix(a=1 / 250, d=1 / 250).after(
                parse_transform(path.get("transform") or "")
            )
            self._outlines[code] = parse_path(path.get("d") or "", matrix)

    def _page(self, walk: _Walk, index: int, width: float, height: float) -> EngravedPage:
        used = {
            shape.code: self._outlines[shape.code]
            for shape in walk.all_glyphs()
            if shape.code in self._outlines
        }
        used.update(self._book.outlines_in(walk.all_texts()))
        boxes = outline_boxes(used)
        systems: list[EngravedSystem] = []
        measures: list[EngravedMeasure] = []
        for draft in walk.systems:
            if not draft.measures:
                continue
            finished = [_finished(m, len(systems), boxes) for m in draft.measures]
            measures.extend(finished)
            systems.append(_finished_system(len(systems), draft, finished, boxes))
        staves = {m.measure_index: m.staves for m in measures}
        heads = tuple(_finished_head(n, g, m, boxes, staves) for n, m, g in walk.heads())
        return EngravedPage(index, width, height, used, tuple(systems), tuple(measures), heads)


class _Walk:
    def __init__(self, measure_indices: Mapping[str, int], book: GlyphBook) -> None:
        self.systems: list[_SystemDraft] = []
        self._measure_indices = measure_indices
        self._book = book
        self._heads: dict[str, tuple[int, list[Glyph]]] = {}

    def heads(self) -> Iterable[tuple[str, int, tuple[Glyph, ...]]]:
        for note_id, (measure_index, glyphs) in self._heads.items():
            yield note_id, measure_index, tuple(glyphs)

    def _all_shapes(self) -> Iterable[Shape]:
        for system in self.systems:
            yield from system.shapes
            for measure in system.measures:
                yield from measure.shapes
                yield from measure.words
        for _, glyphs in self._heads.values():
            yield from glyphs

    def all_glyphs(self) -> list[Glyph]:
        return [shape for shape in self._all_shapes() if isinstance(shape, Glyph)]

    def all_texts(self) -> list[Text]:
        return [shape for shape in self._all_shapes() if isinstance(shape, Text)]

    def descend(self, group: Element, place: _Place) -> None:
        """Read all children of a group."""
        for child in group:
            name = str(child.tag).removeprefix(_SVG)
            if name == "g":
                self._group(child, place)
            elif name == "text":
                for text in read_text(child, place.matrix, place.style, self._book):
                    self._keep(text, place)
            elif (shape := read_shape(name, child, place.matrix)) is not None:
                self._keep(shape, place)

    def _group(self, group: Element, place: _Place) -> None:
        classes = _classes(group)
        if _SKIPPED.intersection(classes) or group.get("visibility") == "hidden":
            return
        kind = classes[0] if classes else ""
        inner = place
        style = _style(kind, group, place.style)
        if style is not place.style:
            inner = replace(inner, style=style)
        if transform := group.get("transform"):
            inner = replace(inner, matrix=place.matrix.after(parse_transform(transform)))
        if kind == "system":
            self.systems.append(_SystemDraft())
            inner = replace(inner, system=self.systems[-1])
        elif kind == "measure" and inner.system is not None:
            inner = replace(inner, measure=self._new_measure(group, inner.system))
        elif kind == "staff" and inner.measure is not None:
            self._staff(group, inner, inner.measure)
            return
        elif kind == "note":
            inner = replace(inner, note_id=group.get("id") or "")
        elif kind == "notehead":
            inner = replace(inner, in_notehead=True)
        elif kind in _WORDS_ABOVE:
            inner = replace(inner, in_words=True)
        self.descend(group, inner)
        if kind in _BEFORE_NOTES and inner.measure is not None and not self._heads_in(inner):
            self._push_content_left(group, inner)

    def _heads_in(self, place: _Place) -> bool:
        """Whether the measure has notes already: then a clef or signature belongs to its end."""
        measure = place.measure
        return measure is not None and any(
            index == measure.measure_index for index, _ in reversed(self._heads.values())
        )

    def _push_content_left(self, group: Element, place: _Place) -> None:
        measure = place.measure
        if measure is None:
            return
        for use in group.iter(_SVG + "use"):
            matrix = place.matrix.after(parse_transform(use.get("transform") or ""))
            measure.content_left = max(measure.content_left, matrix.e + 2.0)

    def _new_measure(self, group: Element, system: _SystemDraft) -> _MeasureDraft:
        known = self._measure_indices.get(group.get("id") or "")
        if known is None:  # a measure that the engraver made itself: the one after the last
            earlier = [m.measure_index for s in self.systems for m in s.measures]
            known = max(earlier, default=-1) + 1
        measure = _MeasureDraft(known, len(self.systems) - 1)
        system.measures.append(measure)
        return measure

    def _staff(self, group: Element, place: _Place, measure: _MeasureDraft) -> None:
        lines = []
        for child in group:
            if child.tag == _SVG + "path":
                shape = read_shape("path", child, place.matrix)
                if isinstance(shape, Line):
                    lines.append(shape)
            elif child.tag == _SVG + "g":
                self._group(child, place)
        if not lines:
            return
        measure.staff_lines.extend(lines)
        left, top, right = lines[0].x1, lines[0].y1, lines[0].x2
        box = Box(left, top, right - left, lines[-1].y1 - top)
        measure.staves.append(StaffBox(len(measure.staves) + 1, box))

    def _keep(self, shape: Shape, place: _Place) -> None:
        measure = place.measure
        if place.in_notehead and place.note_id and measure and isinstance(shape, Glyph):
            _, glyphs = self._heads.setdefault(place.note_id, (measure.measure_index, []))
            glyphs.append(shape)
        elif measure is not None:
            (measure.words if place.in_words else measure.shapes).append(shape)
        elif place.system is not None:
            place.system.shapes.append(shape)


def _parser() -> etree.XMLParser:
    # the SVG comes from our own engraver, but it carries text of the score
    return etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True)


def _classes(group: Element) -> list[str]:
    return (group.get("class") or "").split()


def _style(kind: str, group: Element, style: TextStyle) -> TextStyle:
    if kind in _BOLD:
        style = replace(style, bold=True)
    elif kind in _ITALIC:
        style = replace(style, italic=True)
    return style.under(group)


def _around(boxes: Iterable[Box]) -> Box:
    result: Box | None = None
    for box in boxes:
        result = box if result is None else result.united(box)
    return result or NO_BOX


def _finished(draft: _MeasureDraft, system: int, glyph_boxes: Mapping[str, Box]) -> EngravedMeasure:
    box = _around(staff.box for staff in draft.staves)
    above = _around(shape_box(shape, glyph_boxes) for shape in draft.words).bottom <= box.y
    words, shapes = (draft.words, draft.shapes) if above else ([], draft.shapes + draft.words)
    return EngravedMeasure(
        draft.measure_index,
        system,
        box,
        tuple(draft.staves),
        tuple(shapes),
        tuple(draft.staff_lines),
        max(box.x, draft.content_left),
        tuple(words),
    )


def _finished_system(
    index: int,
    draft: _SystemDraft,
    measures: list[EngravedMeasure],
    glyph_boxes: Mapping[str, Box],
) -> EngravedSystem:
    box = _around(measure.box for measure in measures)
    shapes = [
        *draft.shapes,
        *(shape for each in measures for shape in (*each.shapes, *each.words_above)),
    ]
    outer = _around([box, *(shape_box(shape, glyph_boxes) for shape in shapes)])
    numbers_there = [measure.measure_index for measure in measures]
    return EngravedSystem(
        index, min(numbers_there), max(numbers_there), box, outer, tuple(draft.shapes)
    )


def _finished_head(
    note_id: str,
    glyphs: tuple[Glyph, ...],
    measure_index: int,
    glyph_boxes: Mapping[str, Box],
    staves: Mapping[int, tuple[StaffBox, ...]],
) -> Notehead:
    box = _around(shape_box(glyph, glyph_boxes) for glyph in glyphs)
    near = min(
        staves.get(measure_index, ()),
        key=lambda staff: abs(staff.box.centre_y - box.centre_y),
        default=None,
    )
    return Notehead(note_id, measure_index, near.staff if near else 1, box, glyphs)
