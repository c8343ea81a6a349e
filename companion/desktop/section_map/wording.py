"""The map in words: for lane cells, tooltips and readers of the screen alike."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication

from companion.desktop.percent import percent
from companion.desktop.section_map.figures import (
    KeyFigures,
    MapFigures,
    MeasureFigures,
    SectionFigures,
    WorkFigures,
)
from companion.score.model import Measure
from companion.score.sections.section_map import Section
from companion.timebase import quarters_per_minute_to_beats_per_minute

if TYPE_CHECKING:
    from companion.desktop.section_map.overlay import Leap


def tr(text: str, number: int = -1) -> str:
    """Translate a sentence of the map."""
    return QCoreApplication.translate("SectionMap", text, None, number)


_BEAT_NAMES = {
    Fraction(1, 4): "sixteenth",
    Fraction(3, 8): "dotted sixteenth",
    Fraction(1, 2): "eighth",
    Fraction(3, 4): "dotted eighth",
    Fraction(1): "quarter",
    Fraction(3, 2): "dotted quarter",
    Fraction(2): "half note",
    Fraction(3): "dotted half",
    Fraction(4): "whole note",
}


def beat_name(beat_quarters: Fraction) -> str:
    """Name of a beat unit: 3/2 quarters is a "dotted quarter"."""
    return tr(_BEAT_NAMES.get(beat_quarters, "beat"))


def beats_per_minute(quarters_per_minute: float, beat_quarters: Fraction) -> int:
    """Rounded beats a minute for the eye."""
    return round(quarters_per_minute_to_beats_per_minute(quarters_per_minute, beat_quarters))


def days_ago(day: date, today: date) -> str:
    """How long ago a day is: "today", "yesterday", "5 days"."""
    days = (today - day).days
    if days <= 0:
        return tr("today")
    if days == 1:
        return tr("yesterday")
    if days < 60:
        return tr("{days} days").format(days=days)
    return tr("{weeks} weeks").format(weeks=days // 7)


def days_ago_in_short(day: date, today: date) -> str:
    """The same where there is little room: "0 d", "1 d", "9 w"."""
    days = max(0, (today - day).days)
    if days < 60:
        return tr("{days} d").format(days=days)
    return tr("{weeks} w").format(weeks=days // 7)


def first_measure_number(section: Section, measures: tuple[Measure, ...]) -> str:
    """Printed number of the measure in which a section begins."""
    return measures[min(section.start.measure_index, len(measures) - 1)].number


def last_measure_number(section: Section, measures: tuple[Measure, ...]) -> str:
    """Printed number of the last measure of which anything belongs to a section."""
    index = section.end.measure_index - (0 if section.end.offset_quarters else 1)
    return measures[max(0, min(index, len(measures) - 1))].number


def measure_span(section: Section, measures: tuple[Measure, ...]) -> str:
    """Measures of a section as printed: "measures 9-16"."""
    first = first_measure_number(section, measures)
    last = last_measure_number(section, measures)
    if first == last:
        return tr("measure {first}").format(first=first)
    return tr("measures {first}–{last}").format(first=first, last=last)


def accuracy_text(figures: SectionFigures) -> str:
    """Accuracy for a lane cell."""
    return "" if figures.accuracy is None else percent(figures.accuracy)


def tempo_text(figures: SectionFigures, beat_quarters: Fraction) -> str:
    """Running tempo and target for a lane cell: "84 / 96"."""
    target = figures.target_quarters_per_minute
    running = figures.running_quarters_per_minute
    if running is None:
        return ""
    text = str(beats_per_minute(running, beat_quarters))
    return f"{text} / {beats_per_minute(target, beat_quarters)}" if target else text


def section_sentence(
    section: Section,
    figures: SectionFigures,
    measures: tuple[Measure, ...],
    today: date | None,
) -> str:
    """Everything that the map shows of a section, to be read aloud or in a tooltip."""
    beat = measures[min(section.start.measure_index, len(measures) - 1)].beat_quarters
    parts = [f"{section.name}, {measure_span(section, measures)}"]
    if section.purpose:
        parts.append(section.purpose)
    if not figures.takes:
        parts.append(tr("not played yet"))
        return ". ".join(parts) + "."
    if figures.accuracy is not None:
        of_takes = tr("median of {n} takes on the last day") if figures.takes_of_day > 1 else ""
        parts.append(
            tr("accuracy {accuracy}").format(accuracy=accuracy_text(figures))
            + (", " + of_takes.format(n=figures.takes_of_day) if of_takes else "")
        )
    if figures.running_quarters_per_minute is not None:
        parts.append(
            tr("tempo {tempo} ({beat} beats a minute)").format(
                tempo=tempo_text(figures, beat).replace("/", tr("of")), beat=beat_name(beat)
            )
        )
    takes = tr("{n} takes") if figures.takes != 1 else tr("{n} take")
    when = ""
    if figures.last_played is not None and today is not None:
        when = tr(", last played: {when}").format(when=days_ago(figures.last_played, today))
    parts.append(takes.format(n=figures.takes) + when)
    return ". ".join(parts) + "."


def measure_sentence(measure: Measure, figures: MeasureFigures | None) -> str:
    """What the strip shows of a measure."""
    if figures is None or not figures.expected:
        return tr("Measure {number}: not played yet.").format(number=measure.number)
    text = (
        tr("Measure {number}: {errors} error in {expected} notes.")
        if figures.errors == 1
        else tr("Measure {number}: {errors} errors in {expected} notes.")
    )
    return text.format(number=measure.number, errors=figures.errors, expected=figures.expected)


def leap_sentence(leap: Leap, measures: tuple[Measure, ...]) -> str:
    """A return or a jump of the take that is shown."""
    left, landed = (
        measures[min(place.measure_index, len(measures) - 1)].number
        for place in (leap.start, leap.end)
    )
    text = (
        tr("The playing broke off in measure {left} and went back to measure {landed}.")
        if leap.goes_back
        else tr("The playing broke off in measure {left} and went on in measure {landed}.")
    )
    return text.format(left=left, landed=landed)


def nothing_to_show(figures: MapFigures) -> str:
    """What stands in the lanes while there are no figures; nothing until the history was read."""
    waiting = figures.takes_to_work_out
    if waiting == 1:
        return tr("The take is being compared with the score.")
    if waiting:
        return tr("{n} takes are being compared with the score.").format(n=waiting)
    if figures.today is None:
        return ""
    return tr("Nothing played yet. Sit down and play: a take begins with your first note.")


def rank_text(work: WorkFigures) -> str:
    """The place of a section in the order of work for a lane cell."""
    return str(work.rank)


def widest_rank(work: WorkFigures) -> str:
    """A text as wide as the longest rank of the piece."""
    return "0" * len(str(work.of))


def work_sentence(work: WorkFigures) -> str:
    """How hard a section is, and why."""
    told = tr("Work: {rank} of {of}, the hardest first; {words}.").format(
        rank=work.rank, of=work.of, words=work.words
    )
    return f"{told} {tr('Corrected by practice.')}" if work.corrected else told


def key_sentence(key: KeyFigures | None) -> str:
    """The key of a measure."""
    return tr("Key: {key}").format(key=key.spoken) if key is not None else ""
