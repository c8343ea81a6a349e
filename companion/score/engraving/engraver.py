"""The only door to the engraver (verovio): MusicXML in, plain pages out.

Engraving runs in a worker process, because the engraver holds Python's global lock while it lays
out a score. Pages are handed out one by one as soon as they are drawn. The first page of a long
score is engraved from its opening measures alone, so that it can be shown while the rest is still
being laid out; if the whole score then breaks its first page elsewhere, the page is sent again.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import verovio
from lxml import etree

from companion.errors import ScoreUnreadable
from companion.progress import Progress, no_report
from companion.score.engraving.heading import header_options, set_heading, with_heading
from companion.score.engraving.model import LAYOUT_VERSION, EngravingSummary
from companion.score.engraving.svg import UNITS_PER_SPACE, PageReader
from companion.score.engraving.text import GlyphBook

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from lxml.etree import _Element as Element

    from companion.progress import Report
    from companion.score.engraving.model import EngravedPage, Layout

MUSIC_FONT = "Leipzig"
_OPENING_NOTES = 1_000  # a dense page of piano music on A4 holds about 400
_OPENING_MEASURES = 64  # a sparse one about 50
_LONG_SCORE_NOTES = 2_500  # below that the whole score is there in a moment
_UNITS_PER_SPACE_IN_OPTIONS = UNITS_PER_SPACE / 10
_SMALLEST_PAGE, _LARGEST_PAGE = 100, 60_000  # limits of the engraver's own options


class _Prepared(NamedTuple):
    tree: Element
    measure_indices: Mapping[str, int]


def engraver_version() -> str:
    """Version of the engraver and of our reading of it: part of the key of a page cache."""
    return f"verovio {verovio.toolkit(False).getVersion()} layout {LAYOUT_VERSION}"


def engrave(
    musicxml: bytes,
    layout: Layout,
    report: Report = no_report,
    emit: Callable[[EngravedPage], None] = lambda _page: None,
) -> EngravingSummary:
    """Engrave a whole score and hand out its pages in order.

    Parameters
    ----------
    musicxml
        Uncompressed MusicXML, each note with a unique id.
    layout
        Paper, breaks and spacing.
    report
        Called before each page.
    emit
        Called with each page; a page index that comes twice replaces the earlier page.

    Raises
    ------
    ScoreUnreadable
        The engraver cannot make anything of the score.
    """
    report(Progress(done=0, total=0, doing="Laying out the score"))
    prepared = _prepare(musicxml, layout)
    first = _first_page(prepared, layout, report)
    if first is not None:
        emit(first)
    toolkit = _loaded(etree.tostring(prepared.tree, encoding="unicode"), layout)
    reader = _reader(prepared)
    pages = toolkit.getPageCount()
    measures = noteheads = 0
    for index in range(pages):
        report(Progress(done=index, total=pages, doing="Engraving the pages"))
        page = _page(toolkit, reader, index, layout)
        measures += len(page.measures)
        noteheads += len(page.noteheads)
        if index > 0 or first is None or page != first:
            emit(page)
    if not measures:
        raise ScoreUnreadable("This score could be read, but there is nothing in it to engrave.")
    return EngravingSummary(
        pages=pages, measures=measures, noteheads=noteheads, engraver=engraver_version()
    )


def _prepare(musicxml: bytes, layout: Layout) -> _Prepared:
    """Give each measure an id by which its index is known again in the engraving."""
    try:
        parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
        tree = etree.fromstring(musicxml, parser)
    except etree.XMLSyntaxError as error:
        raise ScoreUnreadable("This score cannot be engraved: its file is damaged.") from error
    parts = tree.findall("part")
    if not parts:
        raise ScoreUnreadable("This score cannot be engraved: there is no part in it.")
    indices = {}
    for index, measure in enumerate(parts[0].findall("measure")):
        name = f"measure-{index}"
        measure.set("id", name)
        indices[name] = index
    set_heading(tree, layout)
    return _Prepared(tree, indices)


def _first_page(prepared: _Prepared, layout: Layout, report: Report) -> EngravedPage | None:
    """Engrave the opening alone; None for a short score or when the opening fills no page."""
    if sum(1 for _ in prepared.tree.iter("note")) < _LONG_SCORE_NOTES:
        return None
    report(Progress(done=0, total=0, doing="Engraving the first page"))
    opening = etree.fromstring(etree.tostring(prepared.tree))
    parts = opening.findall("part")
    kept = _opening_length(parts[0].findall("measure"))
    for part in parts:
        for measure in part.findall("measure")[kept:]:
            part.remove(measure)
    try:
        toolkit = _loaded(etree.tostring(opening, encoding="unicode"), layout)
    except ScoreUnreadable:
        return None
    if toolkit.getPageCount() < 2:
        return None
    return _page(toolkit, _reader(prepared), 0, layout)


def _opening_length(measures: list[Element]) -> int:
    """How many measures surely fill the first page."""
    notes = 0
    for count, measure in enumerate(measures[:_OPENING_MEASURES], 1):
        notes += len(measure.findall("note"))
        if notes >= _OPENING_NOTES:
            return count
    return _OPENING_MEASURES


def _reader(prepared: _Prepared) -> PageReader:
    folder = Path(verovio.toolkit(False).getResourcePath())
    return PageReader(GlyphBook(folder, MUSIC_FONT), prepared.measure_indices)


def _loaded(musicxml: str, layout: Layout) -> verovio.toolkit:
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(_options(layout))
    if not toolkit.loadData(musicxml) or toolkit.getPageCount() < 1:
        raise ScoreUnreadable(
            "This score cannot be engraved. It may be damaged, or hold a notation that the "
            "engraver does not know."
        )
    return toolkit


def _options(layout: Layout) -> dict[str, object]:
    margin = round(layout.margin * _UNITS_PER_SPACE_IN_OPTIONS)
    return {
        "inputFrom": "xml",
        "font": MUSIC_FONT,
        "unit": _UNITS_PER_SPACE_IN_OPTIONS / 2,
        "pageWidth": _page_size(layout.page_width),
        "pageHeight": _page_size(layout.page_height),
        "pageMarginLeft": margin,
        "pageMarginRight": margin,
        "pageMarginTop": margin,
        "pageMarginBottom": margin,
        "breaks": str(layout.breaks),
        "spacingLinear": 0.15 + 0.2 * layout.density,
        "spacingNonLinear": 0.5 + 0.2 * layout.density,
        "spacingSystem": 10,
        "justifyVertically": True,
        "footer": "none",
        **header_options(layout),
        "svgFormatRaw": True,
        "xmlIdChecksum": True,  # the same ids each time: pages can be compared
        "smuflTextFont": "none",
    }


def _page_size(spaces: float) -> int:
    size = round(spaces * _UNITS_PER_SPACE_IN_OPTIONS)
    return max(_SMALLEST_PAGE, min(size, _LARGEST_PAGE))


def _page(toolkit: verovio.toolkit, reader: PageReader, index: int, layout: Layout) -> EngravedPage:
    svg = toolkit.renderToSVG(index + 1)
    page = reader.read(svg, index, layout.page_width, layout.page_height)
    return with_heading(page, layout) if index == 0 else page
