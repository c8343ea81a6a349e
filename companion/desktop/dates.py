"""Days as people write them here: the name of the month, before or behind the day."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import QDate, QLocale


def short_day(day: date) -> str:
    """Day and month, "24 Nov"."""
    return _written(day, "d MMM", "MMM d")


def weekday_and_day(day: date) -> str:
    """Day of the week, day and month, "Tue 24 Nov"."""
    return _written(day, "ddd d MMM", "ddd MMM d")


def day_with_year(day: date) -> str:
    """Day, month and year, "19 Dec 2026".

    The short form of the locale is figures alone, and a plain one without any stop between them.
    """
    return _written(day, "d MMM yyyy", "MMM d, yyyy")


def _written(day: date, day_first: str, month_first: str) -> str:
    locale = QLocale()
    begins_with_month = locale.dateFormat(QLocale.FormatType.ShortFormat).upper().startswith("M")
    pattern = month_first if begins_with_month else day_first
    return locale.toString(QDate(day.year, day.month, day.day), pattern)
