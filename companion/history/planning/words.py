"""Numbers of days and minutes in words, for the lines that say why."""

from __future__ import annotations


def days_ago(days: int) -> str:
    """``0`` today, ``1`` since yesterday, ``5`` for 5 days."""
    if days <= 0:
        return "today"
    return "since yesterday" if days == 1 else f"for {days} days"


def in_days(days: int) -> str:
    """``0`` today, ``1`` tomorrow, ``5`` in 5 days."""
    if days <= 0:
        return "today"
    return "tomorrow" if days == 1 else f"in {days} days"


def hours_in_words(hours: float) -> str:
    """``0.4`` 25 minutes, ``1.0`` 1 hour, ``12.6`` 13 hours: as fine as an estimate deserves."""
    if hours < 0.9:
        return f"{max(5, round(hours * 12) * 5)} minutes"
    if hours < 9.75:
        halves = round(hours * 2) / 2
        return "1 hour" if halves == 1 else f"{halves:g} hours"
    return f"{round(hours)} hours"


def joined(names: list[str]) -> str:
    """``A``, ``A and B``, ``A, B and C``."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
