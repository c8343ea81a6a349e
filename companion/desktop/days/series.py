"""What the charts of a section show: its days as series of points, with target and scale."""

from __future__ import annotations

from datetime import date

from companion.desktop.dates import short_day
from companion.desktop.days import wording
from companion.desktop.days.charts import ChartPoint, ChartSeries
from companion.desktop.days.content import SectionDays
from companion.history.summaries import SectionDay
from companion.listening.notes import Hands

_CLEAN_SHARE_RIGHT = 0.98  # at most 2 errors in 100 notes, see the measures in the help


def series_of(section: SectionDays) -> tuple[ChartSeries, ChartSeries, ChartSeries]:
    """Accuracy, tempo and number of takes; of takes with both hands where there are any."""
    together = section.summary.days_with(Hands.BOTH) or section.summary.days
    return (
        _accuracy_series(section, together),
        _tempo_series(section, together),
        _take_series(section),
    )


def _sentence(section: SectionDays, figures: SectionDay) -> str:
    tempo = figures.median_quarters_per_minute
    beats = section.beats_per_minute(tempo) if tempo is not None else None
    return wording.day_sentence(figures, beats, section.beat_name)


def _accuracy_series(section: SectionDays, days: tuple[SectionDay, ...]) -> ChartSeries:
    points = tuple(
        ChartPoint(
            day=figures.day,
            value=figures.median_accuracy,
            best=figures.best_accuracy,
            first=figures.first_accuracy,
            sentence=_sentence(section, figures),
        )
        for figures in days
        if figures.median_accuracy is not None
    )
    lowest = min((min(p.value, p.first or p.value) for p in points), default=1.0)
    return ChartSeries(
        title=wording.tr("Accuracy"),
        unit=wording.tr("median; ring: first take of the day"),
        points=points,
        low=min(0.9, int(lowest * 20) / 20),
        high=1.0,
        rule=_CLEAN_SHARE_RIGHT,
        rule_text=wording.tr("98 %"),
        as_percent=True,
    )


def _tempo_series(section: SectionDays, days: tuple[SectionDay, ...]) -> ChartSeries:
    points = tuple(
        ChartPoint(
            day=figures.day,
            value=section.beats_per_minute(figures.median_quarters_per_minute),
            best=_beats(section, figures.best_quarters_per_minute),
            first=_beats(section, figures.first_quarters_per_minute),
            sentence=_sentence(section, figures),
        )
        for figures in days
        if figures.median_quarters_per_minute is not None
    )
    target = _beats(section, section.target_quarters_per_minute)
    values = [p.value for p in points] + [p.best or p.value for p in points]
    if target is not None:
        values.append(target)
    return ChartSeries(
        title=wording.tr("Tempo"),
        unit=wording.tr("{beat} beats a minute").format(beat=section.beat_name),
        points=points,
        low=min(values, default=60.0) * 0.85,
        high=max(values, default=60.0) * 1.05,
        rule=target,
        rule_text=wording.tr("target {tempo}").format(tempo=round(target)) if target else "",
    )


def _take_series(section: SectionDays) -> ChartSeries:
    counts: dict[date, int] = {}
    for figures in section.summary.days:
        counts[figures.day] = counts.get(figures.day, 0) + figures.take_count
    points = tuple(
        ChartPoint(
            day=day,
            value=float(count),
            sentence=f"{short_day(day)}: "
            + (wording.tr("{n} take") if count == 1 else wording.tr("{n} takes")).format(n=count),
        )
        for day, count in sorted(counts.items())
    )
    return ChartSeries(
        title=wording.tr("Takes"),
        unit=wording.tr("a day"),
        points=points,
        low=0.0,
        high=max(4.0, *(p.value for p in points)) if points else 4.0,
        as_columns=True,
    )


def _beats(section: SectionDays, quarters_per_minute: float | None) -> float | None:
    return None if quarters_per_minute is None else section.beats_per_minute(quarters_per_minute)
