"""The time until a performance in words, and the day of it."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import QCoreApplication, QDate, QLocale


def day_with_year(day: date) -> str:
    """A day as it is written in a heading: "19 Dec 2026", the month first where people do so.

    The short form of the locale is figures alone, and a plain one without any stop between them.
    """
    locale = QLocale()
    month_first = locale.dateFormat(QLocale.FormatType.ShortFormat).upper().startswith("M")
    pattern = "MMM d, yyyy" if month_first else "d MMM yyyy"
    return locale.toString(QDate(day.year, day.month, day.day), pattern)


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
