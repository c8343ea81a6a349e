"""The time until a performance in words."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication


def days_left_text(days: int) -> str:
    """How many days are left: "12 days left", "tomorrow", "today", "over"."""
    if days < 0:
        return _tr("over")
    if days == 0:
        return _tr("today")
    if days == 1:
        return _tr("tomorrow")
    return _tr("{days} days left").format(days=days)


def _tr(text: str) -> str:
    return QCoreApplication.translate("SectionMap", text)
