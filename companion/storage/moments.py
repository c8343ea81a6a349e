"""Moments and days as text that sorts as time."""

from __future__ import annotations

from datetime import UTC, date, datetime


def moment_to_text(moment: datetime) -> str:
    """UTC, ISO 8601, always with microseconds; inverse :func:`text_to_moment`."""
    if moment.tzinfo is None:
        raise ValueError("a moment needs a time zone")
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def text_to_moment(text: str) -> datetime:
    """Inverse of :func:`moment_to_text`."""
    return datetime.fromisoformat(text)


def optional_moment(text: str | None) -> datetime | None:
    """Return the moment of a column that may be empty."""
    return None if text is None else text_to_moment(text)


def optional_day(text: str | None) -> date | None:
    """Return the day of a column that may be empty."""
    return None if text is None else date.fromisoformat(text)
