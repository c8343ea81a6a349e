"""From what the history knows to what the map shows. No widgets here."""

from __future__ import annotations

from datetime import date

from companion.desktop.section_map.figures import MapFigures, MeasureFigures, SectionFigures
from companion.history.days import practice_day
from companion.history.results import Stretch
from companion.practice.standing import Standing
from companion.practice.targets import target_of
from companion.score.model import Score
from companion.score.sections.section_map import SectionMap


def figures_of(
    standing: Standing,
    score: Score,
    section_map: SectionMap,
    *,
    today: date,
    zone: str,
    day_starts_at_hour: int,
) -> MapFigures:
    """The lanes of the map: the newest day of each section, all errors of each measure."""
    sections = []
    for section in section_map.sections:
        target = target_of(section, section_map, score)
        summary = standing.sections.get(Stretch.of(section))
        latest = summary.latest if summary is not None else None
        if summary is None or latest is None or summary.last_played_at is None:
            figures = SectionFigures(
                section_id=section.section_id, target_quarters_per_minute=target
            )
        else:
            figures = SectionFigures(
                section_id=section.section_id,
                takes=summary.take_count,
                last_played=practice_day(summary.last_played_at, zone, day_starts_at_hour),
                accuracy=latest.median_accuracy,
                takes_of_day=latest.take_count,
                running_quarters_per_minute=latest.median_quarters_per_minute,
                target_quarters_per_minute=target,
            )
        sections.append(figures)
    measures = tuple(
        MeasureFigures(
            measure_index=measure.measure_index,
            errors=measure.wrong + measure.missed + measure.added,
            expected=measure.expected,
        )
        for measure in standing.measures
    )
    return MapFigures(
        sections=tuple(sections),
        measures=measures,
        today=today,
        takes_to_work_out=standing.takes_to_work_out,
    )
