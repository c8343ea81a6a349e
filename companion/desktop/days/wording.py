"""The words of the page of the days."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import QCoreApplication, QLocale

from companion.desktop.dates import weekday_and_day
from companion.desktop.percent import percent as whole_percent
from companion.history.summaries import SectionDay
from companion.listening.notes import Hands


def tr(text: str, number: int = -1) -> str:
    """Translate a text of this page."""
    return QCoreApplication.translate("Days", text, None, number)


def weekday(day: date) -> str:
    """Short name of the day of the week."""
    return QLocale().dayName(day.isoweekday(), QLocale.FormatType.ShortFormat)


def percent(share: float | None) -> str:
    """A share as whole per cent, an en rule where it is not known."""
    return "–" if share is None else whole_percent(share)


def tempo(beats_per_minute: float | None) -> str:
    """A tempo as a whole number, an en rule where it is not known."""
    return "–" if beats_per_minute is None else str(round(beats_per_minute))


def hands(which: Hands | None, *, from_memory: bool = False) -> str:
    """Name the hands of a take in one or two words, and say when it was played from memory."""
    names = {
        Hands.BOTH: tr("both hands"),
        Hands.RIGHT: tr("right hand"),
        Hands.LEFT: tr("left hand"),
    }
    said = [names[which]] if which is not None else []
    return ", ".join([*said, tr("from memory")] if from_memory else said)


def day_sentence(figures: SectionDay, beats_per_minute: float | None, beat_name: str) -> str:
    """Everything about a section on a day, for tooltips and readers of the screen."""
    parts = [weekday_and_day(figures.day)]
    takes = tr("{n} take") if figures.take_count == 1 else tr("{n} takes")
    parts.append(takes.format(n=figures.take_count) + ", " + hands(figures.hands))
    if figures.median_accuracy is not None:
        parts.append(
            tr("accuracy {median} (best {best}, first take {first})").format(
                median=percent(figures.median_accuracy),
                best=percent(figures.best_accuracy),
                first=percent(figures.first_accuracy),
            )
        )
    if beats_per_minute is not None:
        parts.append(
            tr("running tempo {tempo} {beat} beats a minute").format(
                tempo=tempo(beats_per_minute), beat=beat_name
            )
        )
    if figures.stops:
        parts.append(
            (tr("{n} stop") if figures.stops == 1 else tr("{n} stops")).format(n=figures.stops)
        )
    return "; ".join(parts)
