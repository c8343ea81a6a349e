"""The title and the composer above the first page, in the manner of a printed piece."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from companion.score.engraving_model import Text, TextAnchor, TextRun

if TYPE_CHECKING:
    from companion.score.engraving_model import EngravedPage, Layout

TITLE_SIZE = 4.4  # staff spaces; about 22 points on A4 (common practice for a title)
COMPOSER_SIZE = 2.3


def with_heading(page: EngravedPage, layout: Layout) -> EngravedPage:
    """Return the page with its heading; as it is when the layout names neither."""
    heading = []
    if layout.title:
        run = TextRun(layout.title, TITLE_SIZE)
        heading.append(Text(page.width / 2, layout.margin, TextAnchor.MIDDLE, (run,)))
    if layout.composer:
        run = TextRun(layout.composer, COMPOSER_SIZE, italic=True)
        right = page.width - layout.margin
        heading.append(Text(right, layout.margin + 3.0, TextAnchor.END, (run,)))
    return replace(page, heading=tuple(heading))
