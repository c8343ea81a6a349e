"""The title and the composer above the first page, in the manner of a printed piece.

The engraver is told to keep room for a title; what stands there is drawn by us, because files
carry their headings in too many ways (credits with absolute places, titles twice, movements).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from lxml import etree

from companion.score.engraving.model import Text, TextAnchor, TextRun

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

    from companion.score.engraving.model import EngravedPage, Layout

TITLE_SIZE = 4.4  # staff spaces; about 22 points on A4 (common practice for a title)
COMPOSER_SIZE = 2.4
_TITLE_BASELINE = 3.2  # below the upper margin
_COMPOSER_BASELINE = 6.6
_ROOM_BELOW = 8  # between the engraver's own title line and the music, in half staff spaces


def set_heading(tree: Element, layout: Layout) -> None:
    """Leave exactly one title in the score, or none, and no name beside a single part."""
    for name in ("credit", "movement-title", "movement-number"):
        for element in tree.findall(name):
            tree.remove(element)
    work = tree.find("work")
    if work is not None:
        tree.remove(work)
    if layout.title:
        work = etree.Element("work")
        etree.SubElement(work, "work-title").text = layout.title
        tree.insert(0, work)
    parts = tree.findall("part-list/score-part")
    for part in parts if len(parts) == 1 else ():
        for name in ("part-name", "part-abbreviation"):
            for element in part.findall(name):
                element.text = ""
        for name in ("part-name-display", "part-abbreviation-display"):
            for element in part.findall(name):
                part.remove(element)


def header_options(layout: Layout) -> dict[str, object]:
    """Return the options by which the engraver keeps room for the heading."""
    if not layout.title:
        return {"header": "none"}
    return {"header": "auto", "bottomMarginHeader": _ROOM_BELOW}


def with_heading(page: EngravedPage, layout: Layout) -> EngravedPage:
    """Return the page with its heading; as it is when the layout has no title."""
    if not layout.title:
        return page
    run = TextRun(layout.title, TITLE_SIZE)
    top = layout.margin
    heading = [Text(page.width / 2, top + _TITLE_BASELINE, TextAnchor.MIDDLE, (run,))]
    if layout.composer:
        run = TextRun(layout.composer, COMPOSER_SIZE, italic=True)
        right = page.width - layout.margin
        heading.append(Text(right, top + _COMPOSER_BASELINE, TextAnchor.END, (run,)))
    return replace(page, heading=tuple(heading))
