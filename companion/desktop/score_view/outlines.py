"""Turns engraved shapes into painter paths; one path per glyph is shared by all its uses."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainterPath, QPainterPathStroker, QTransform

from companion.desktop.typography import serif_family
from companion.score.engraving.model import Glyph, TextAnchor

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from companion.score.engraving.model import PathCommand, Text, TextRun

_EM_PIXELS = 100.0  # text is outlined at this size and scaled down: small sizes would be hinted
_FINER = 100.0
_BOLDER = 0.03  # of the em


def path_of(commands: Iterable[PathCommand]) -> QPainterPath:
    """Painter path of absolute commands."""
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.WindingFill)
    for letter, v in commands:
        if letter == "M":
            path.moveTo(v[0], v[1])
        elif letter == "L":
            path.lineTo(v[0], v[1])
        elif letter == "C":
            path.cubicTo(v[0], v[1], v[2], v[3], v[4], v[5])
        elif letter == "Q":
            path.quadTo(v[0], v[1], v[2], v[3])
        else:
            path.closeSubpath()
    return path


def stroked(
    path: QPainterPath,
    width: float,
    dash: float = 0.0,
    gap: float = 0.0,
    *,
    round_ends: bool = True,
) -> QPainterPath:
    """Outline of a stroke of this width along a path, dashed when there is a gap."""
    stroker = QPainterPathStroker()
    # the stroker flattens curves to a quarter of a unit: too coarse for staff spaces
    stroker.setWidth(width * _FINER)
    cap, join = (
        (Qt.PenCapStyle.RoundCap, Qt.PenJoinStyle.RoundJoin)
        if round_ends
        else (Qt.PenCapStyle.FlatCap, Qt.PenJoinStyle.MiterJoin)
    )
    stroker.setCapStyle(cap)
    stroker.setJoinStyle(join)
    if gap:
        stroker.setDashPattern([max(dash, 0.01) / width, gap / width])
    large = QTransform.fromScale(_FINER, _FINER).map(path)
    outline = QTransform.fromScale(1 / _FINER, 1 / _FINER).map(stroker.createStroke(large))
    outline.setFillRule(Qt.FillRule.WindingFill)
    return outline


class GlyphPaths:
    """Painter paths of the glyphs of a score, made once."""

    def __init__(self) -> None:
        self._plain: dict[str, QPainterPath] = {}
        self._shaped: dict[tuple[str, float, float, float, float], QPainterPath] = {}

    def learn(self, glyphs: Mapping[str, tuple[PathCommand, ...]]) -> None:
        """Take the outlines of a page."""
        for code, commands in glyphs.items():
            if code not in self._plain:
                self._plain[code] = path_of(commands)

    def plain(self, code: str) -> QPainterPath:
        """Path at normal size with its origin at (0, 0); empty for an unknown glyph."""
        return self._plain.get(code) or QPainterPath()

    def shaped(self, glyph: Glyph) -> QPainterPath:
        """Path at the glyph's size and turn, still with its origin at (0, 0)."""
        key = (glyph.code, glyph.a, glyph.b, glyph.c, glyph.d)
        if key not in self._shaped:
            matrix = QTransform(glyph.a, glyph.b, glyph.c, glyph.d, 0.0, 0.0)
            self._shaped[key] = matrix.map(self.plain(glyph.code))
        return self._shaped[key]

    def placed(self, glyph: Glyph) -> QPainterPath:
        """Path where it stands on the page."""
        return self.shaped(glyph).translated(glyph.x, glyph.y)


def text_font(*, italic: bool = False) -> QFont:
    """The printed letters of a score, with figures as tall as capitals."""
    font = QFont(serif_family())
    font.setPixelSize(round(_EM_PIXELS))
    font.setItalic(italic)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    font.setFeature(QFont.Tag("lnum"), 1)
    return font


def letters_path(text: str, *, italic: bool = False) -> QPainterPath:
    """Outline of a word at an em of 1, baseline at y 0."""
    path = QPainterPath()
    path.addText(QPointF(0.0, 0.0), text_font(italic=italic), text)
    path.setFillRule(Qt.FillRule.WindingFill)
    return QTransform.fromScale(1 / _EM_PIXELS, 1 / _EM_PIXELS).map(path)


def letters_width(text: str, *, italic: bool = False) -> float:
    """Advance width of a word at an em of 1, spaces at its ends included."""
    return QFontMetricsF(text_font(italic=italic)).horizontalAdvance(text) / _EM_PIXELS


def text_path(text: Text, glyphs: GlyphPaths) -> tuple[QPainterPath, float]:
    """Outline of a line of text where it stands on the page, and the stroke that makes it bold.

    The serif has no full bold of its own, so the outline is drawn with a stroke around it; a
    line with a bold run is bold as a whole.
    """
    width = sum(_run_width(run) for run in text.runs)
    share = {TextAnchor.START: 0.0, TextAnchor.MIDDLE: 0.5, TextAnchor.END: 1.0}[text.anchor]
    x = text.x - share * width
    whole = QPainterPath()
    whole.setFillRule(Qt.FillRule.WindingFill)
    for run in text.runs:
        whole.addPath(_run_path(run, glyphs).translated(x, text.y))
        x += _run_width(run)
    bolder = max((run.size * _BOLDER for run in text.runs if run.bold), default=0.0)
    return whole, bolder


def _run_width(run: TextRun) -> float:
    return run.advance if run.code else letters_width(run.text, italic=run.italic) * run.size


def _run_path(run: TextRun, glyphs: GlyphPaths) -> QPainterPath:
    if run.code:
        scale = run.size / 4  # a music em is four staff spaces
        return QTransform.fromScale(scale, scale).map(glyphs.plain(run.code))
    letters = letters_path(run.text, italic=run.italic)
    return QTransform.fromScale(run.size, run.size).map(letters)
