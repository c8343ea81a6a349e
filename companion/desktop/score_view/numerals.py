"""Roman numerals drawn as a theorist writes them: figures one above the other, signs raised.

The text is that of :mod:`companion.analysis.numerals` ("V65/V", "viio7", "bVI", "Ger65").
"""

from __future__ import annotations

import re
from typing import NamedTuple

from PySide6.QtGui import QPainterPath, QTransform

from companion.desktop.score_view.outlines import letters_path, letters_width

EM = 2.3
"""Size of the degree, in staff spaces."""

CAPITAL = 0.65 * EM
"""How high it stands above its baseline."""

_FIGURE_EM = 0.62 * EM
_SIGN_EM = 0.7 * EM
_FIGURE_STEP = 0.46 * EM
_GAP = 0.06 * EM
_PARTS = re.compile(
    r"^(?P<before>[b#]*)(?P<degree>[IViv]+|It|Ger|Fr|N)"
    r"(?P<sign>[oø+]?M?)(?P<figures>\d*)(?P<after>\[[^\]]*\])?(?P<tail>/.+)?$"
)
_ACCIDENTALS = {"b": "♭", "#": "♯"}
_SIGNS = {"o": "°", "ø": "ø", "+": "+", "M": "M"}


class NumeralParts(NamedTuple):
    """A numeral taken apart; ``tail`` is the target of an applied chord with its stroke."""

    before: str
    degree: str
    sign: str
    figures: str
    tail: str


def parts_of(numeral: str) -> NumeralParts:
    """Take a numeral apart; a text that is none becomes a degree as it is."""
    found = _PARTS.match(numeral)
    if found is None:
        return NumeralParts("", numeral, "", "", "")
    figures = found["figures"] + (found["after"] or "").strip("[]").replace("b7", "")
    return NumeralParts(
        before="".join(_ACCIDENTALS[sign] for sign in found["before"]),
        degree=found["degree"],
        sign="".join(_SIGNS[sign] for sign in found["sign"]),
        figures=figures,
        tail=_with_accidentals(found["tail"] or ""),
    )


def _with_accidentals(tail: str) -> str:
    return "".join(_ACCIDENTALS.get(letter, letter) for letter in tail)


class DrawnNumeral(NamedTuple):
    """Outline with its left end at x 0 and its baseline at y 0, and how wide it is."""

    path: QPainterPath
    width: float


def draw_numeral(numeral: str, *, doubtful: bool = False) -> DrawnNumeral:
    """Draw a numeral; a doubtful one carries a question mark."""
    parts = parts_of(numeral)
    pen = _Pen()
    pen.write(parts.before, _SIGN_EM)
    pen.write(parts.degree, EM)
    pen.write(parts.sign, _FIGURE_EM, raised=0.32 * EM)
    pen.stack(parts.figures)
    pen.write(parts.tail, EM)
    if doubtful:
        pen.write("?", _SIGN_EM, raised=0.2 * EM)
    return DrawnNumeral(pen.path, pen.x)


def draw_key(name: str) -> DrawnNumeral:
    """Draw the short name of a key with a colon: "Eb" becomes "E♭:", "c#" becomes "c♯:"."""
    pen = _Pen()
    pen.write(name[:1], EM, italic=True)
    pen.write(_with_accidentals(name[1:]), _SIGN_EM)
    pen.write(":", EM, italic=True)
    return DrawnNumeral(pen.path, pen.x)


class _Pen:
    """Writes from left to right."""

    def __init__(self) -> None:
        self.path = QPainterPath()
        self.x = 0.0

    def write(self, text: str, em: float, *, raised: float = 0.0, italic: bool = False) -> None:
        if not text:
            return
        self._put(text, em, -raised, italic=italic)
        self.x += letters_width(text, italic=italic) * em + _GAP

    def stack(self, figures: str) -> None:
        """Write figures above each other, the lowest on the baseline; one alone is raised."""
        if not figures:
            return
        lowest = 0.05 * EM if len(figures) > 1 else -0.3 * EM
        for place, figure in enumerate(reversed(figures)):
            self._put(figure, _FIGURE_EM, lowest - place * _FIGURE_STEP)
        self.x += max(letters_width(figure) for figure in figures) * _FIGURE_EM + _GAP

    def _put(self, text: str, em: float, y: float, *, italic: bool = False) -> None:
        letters = letters_path(text, italic=italic)
        placed = QTransform.fromTranslate(self.x, y).scale(em, em)
        self.path.addPath(placed.map(letters))
