"""Text in the engraver's SVG: lines of runs, with music glyphs inside words.

The engraver writes a metronome mark as letters mixed with characters of its music font (SMuFL,
private use area). Those characters are turned into outlines here, from the files that come with
the engraver, so that no music font needs to be installed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from lxml import etree

from companion.score.engraving.model import Text, TextAnchor, TextRun
from companion.score.engraving.paths import Matrix, parse_path, parse_transform

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from lxml.etree import _Element as Element

    from companion.score.engraving.model import PathCommand

_SVG = "{http://www.w3.org/2000/svg}"
_STYLED = {"font-weight", "font-style", "font-size"}
_PRIVATE_USE = range(0xE000, 0xF900)
_DESIGN_UNITS_PER_SPACE = 250.0  # SMuFL: an em of 1000 units is 4 staff spaces


@dataclass(frozen=True, slots=True)
class TextStyle:
    """What text inherits from the groups and spans around it; ``size`` in units of the SVG."""

    bold: bool = False
    italic: bool = False
    size: float = 0.0

    def under(self, element: Element) -> TextStyle:
        """Return the style inside ``element``."""
        if not _STYLED.intersection(element.attrib):
            return self
        style = self
        if (weight := element.get("font-weight")) is not None:
            style = replace(style, bold=weight == "bold")
        if (slant := element.get("font-style")) is not None:
            style = replace(style, italic=slant in ("italic", "oblique"))
        if (size := element.get("font-size")) is not None:
            style = replace(style, size=float(size.removesuffix("px")))
        return style


PLAIN = TextStyle()


class GlyphBook:
    """Outlines and widths of the music font, read from the engraver's data folder when asked for.

    Parameters
    ----------
    folder
        Holds ``NAME/CODE.xml`` for the outlines and ``NAME.xml`` for the widths.
    name
        Of the music font.
    """

    def __init__(self, folder: Path, name: str) -> None:
        self._folder = folder
        self._name = name
        self._widths: dict[str, float] | None = None
        self._outlines: dict[str, tuple[PathCommand, ...]] = {}

    def width(self, code: str) -> float:
        """Advance width at normal size, in staff spaces; 0 for an unknown glyph."""
        if self._widths is None:
            self._widths = self._read_widths()
        return self._widths.get(code, 0.0)

    def _read_widths(self) -> dict[str, float]:
        file = self._folder / f"{self._name}.xml"
        if not file.is_file():
            return {}
        return {
            glyph.get("c", ""): float(glyph.get("h-a-x", "0")) / _DESIGN_UNITS_PER_SPACE
            for glyph in etree.parse(str(file)).getroot().iter("g")
        }

    def outline(self, code: str) -> tuple[PathCommand, ...]:
        """Outline at normal size, in staff spaces; empty for an unknown glyph."""
        if code not in self._outlines:
            self._outlines[code] = self._read_outline(code)
        return self._outlines[code]

    def _read_outline(self, code: str) -> tuple[PathCommand, ...]:
        file = self._folder / self._name / f"{code}.xml"
        if not file.is_file():
            return ()
        path = etree.parse(str(file)).getroot().find("path")
        if path is None:
            return ()
        scale = 1 / _DESIGN_UNITS_PER_SPACE
        matrix = Matrix(a=scale, d=scale).after(parse_transform(path.get("transform") or ""))
        return parse_path(path.get("d") or "", matrix)

    def outlines_in(self, texts: Iterable[Text]) -> dict[str, tuple[PathCommand, ...]]:
        """Outlines of all music glyphs in these texts."""
        codes = {run.code for text in texts for run in text.runs if run.code}
        return {code: self.outline(code) for code in codes}


def read_text(element: Element, matrix: Matrix, style: TextStyle, book: GlyphBook) -> list[Text]:
    """Read a ``text`` element: one :class:`Text` per line, empty ones left out."""
    reader = _TextReader(matrix, book)
    reader.descend(element, style.under(element))
    return reader.finished()


class _TextReader:
    def __init__(self, matrix: Matrix, book: GlyphBook) -> None:
        self._matrix = matrix
        self._book = book
        self._x = self._y = 0.0
        self._anchor = TextAnchor.START
        self._runs: list[TextRun] = []
        self._done: list[Text] = []

    def finished(self) -> list[Text]:
        self._end_line()
        return self._done

    def _end_line(self) -> None:
        if any(run.code or run.text.strip() for run in self._runs):
            x, y = self._matrix.point(self._x, self._y)
            self._done.append(Text(x, y, self._anchor, tuple(self._runs)))
        self._runs = []

    def descend(self, element: Element, style: TextStyle) -> None:
        if "x" in element.attrib or "y" in element.attrib:
            # a place of its own begins a new line; a missing x is 0, not the place reached
            self._end_line()
            self._x = float(element.get("x") or (0.0 if element.tag == _SVG + "text" else self._x))
            self._y = float(element.get("y") or self._y)
        if (anchor := element.get("text-anchor")) is not None:
            self._anchor = TextAnchor(anchor)
        self._letters(element.text, style)
        for child in element:
            if child.tag == _SVG + "tspan":
                self.descend(child, style.under(child))
            self._letters(child.tail, style)

    def _letters(self, text: str | None, style: TextStyle) -> None:
        if not text or style.size == 0.0:
            return
        size = style.size * self._matrix.size
        words = ""
        for letter in text:
            if ord(letter) not in _PRIVATE_USE:
                words += letter
                continue
            self._words(words, size, style)
            words = ""
            code = f"{ord(letter):04X}"
            advance = self._book.width(code) * size / 4
            self._runs.append(TextRun(letter, size, code=code, advance=advance))
        self._words(words, size, style)

    def _words(self, words: str, size: float, style: TextStyle) -> None:
        if words:
            self._runs.append(TextRun(words, size, bold=style.bold, italic=style.italic))
