"""The two type families of the window and the sizes that may be used.

Words of the music and headings are set in EB Garamond, figures and controls in Lato, whose figures
all have the same width. Both come with the program (``resources/fonts``, SIL Open Font License).
"""

from __future__ import annotations

from functools import cache

from PySide6.QtGui import QFont, QFontDatabase

from companion.resources import resource_path

_FILES = {
    "EBGaramond12-Regular.otf": "serif",
    "EBGaramond12-Italic.otf": "serif",
    "Lato-Regular.ttf": "sans",
    "Lato-Bold.ttf": "sans",
}
_FALLBACK = {"serif": "serif", "sans": "sans-serif"}

# Points at the usual 96 dots an inch. Five sizes are enough for a page.
TITLE_POINTS = 19.0
HEADING_POINTS = 14.0
SERIF_POINTS = 12.0
TEXT_POINTS = 10.0
SMALL_POINTS = 8.5


@cache
def _families() -> dict[str, str]:
    found = dict(_FALLBACK)
    for file_name, role in _FILES.items():
        number = QFontDatabase.addApplicationFont(str(resource_path("fonts", file_name)))
        names = QFontDatabase.applicationFontFamilies(number) if number >= 0 else []
        if names:
            found[role] = names[0]
    return found


def serif_family() -> str:
    """Name of the family for headings and the words of the music."""
    return _families()["serif"]


def sans_family() -> str:
    """Name of the family for controls and figures."""
    return _families()["sans"]


def serif(points: float = SERIF_POINTS, *, italic: bool = False) -> QFont:
    """Font for headings and names; ``points`` is one of the sizes above."""
    return QFont(_serif(points, italic))


@cache
def _serif(points: float, italic: bool) -> QFont:
    font = QFont(serif_family())
    font.setPointSizeF(points)
    font.setItalic(italic)
    # figures as tall as capitals: measure numbers stand beside names in this family
    font.setFeature(QFont.Tag("lnum"), 1)
    return font


def sans(points: float = TEXT_POINTS, *, bold: bool = False) -> QFont:
    """Font for text, controls and figures of equal width."""
    return QFont(_sans(points, bold))


@cache
def _sans(points: float, bold: bool) -> QFont:
    font = QFont(sans_family())
    font.setPointSizeF(points)
    font.setBold(bold)
    return font
