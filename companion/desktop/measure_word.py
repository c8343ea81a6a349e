"""What a measure is called on screen: some pianists say "bar".

The code and the texts in it say *measure* throughout. Where the pianist has chosen the other word,
a translator puts it in the place of the first, in every text that goes through ``tr``.
"""

from __future__ import annotations

import re

from PySide6.QtCore import QCoreApplication, QObject, QTranslator

_MEASURE = re.compile(r"\b(m|M)easure(s?)\b")


def in_bars(text: str) -> str:
    """Return a text with "bar" for "measure"; names in braces are left as they are."""
    parts = re.split(r"(\{[^{}]*\})", text)
    return "".join(
        part
        if part.startswith("{")
        else _MEASURE.sub(lambda found: ("B" if found[1] == "M" else "b") + "ar" + found[2], part)
        for part in parts
    )


class BarTranslator(QTranslator):
    """Says "bar" where the texts say "measure"."""

    def isEmpty(self) -> bool:  # noqa: N802 - Qt's name
        """Qt asks only translators that have something to say."""
        return False

    def translate(
        self, context: str, text: str, disambiguation: str | None = None, n: int = -1
    ) -> str | None:
        """Return the other wording, None where there is nothing to change."""
        changed = in_bars(text)
        return changed if changed != text else None


def say_bars(parent: QObject) -> BarTranslator:
    """Say "bar" from now on; to be called before the window is made."""
    translator = BarTranslator(parent)
    QCoreApplication.installTranslator(translator)
    return translator
