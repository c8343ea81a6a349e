"""Words that appear where the pointer rests, in lines short enough to be read at a glance."""

from __future__ import annotations

import textwrap

from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QToolTip, QWidget

LETTERS_A_LINE = 62  # a readable measure is 45 to 75 letters (common practice in typography)


def in_lines(text: str) -> str:
    """Break a long sentence into lines; breaks that are there stay."""
    return "\n".join(textwrap.fill(line, LETTERS_A_LINE) for line in text.splitlines())


def show(point: QPoint, text: str, widget: QWidget) -> None:
    """Show words at a point of the screen; nothing hides what is shown."""
    if text:
        QToolTip.showText(point, in_lines(text), widget)
    else:
        QToolTip.hideText()
