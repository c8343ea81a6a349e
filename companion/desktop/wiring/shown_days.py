"""From what the history knows to the page of the days and the list of today's takes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from companion.desktop.days.content import DaysContent, SectionDays, TakeRow
from companion.desktop.listener_panel.take_list import TakeLine
from companion.desktop.section_map import wording
from companion.history.days import practice_day, zone_named
from companion.history.model import Take
from companion.history.results import SectionResult, Stretch
from companion.history.summaries import empty_summary
from companion.listening.notes import Hands
from companion.practice.opening import Standing
from companion.practice.targets import target_of
from companion.score.model import Score
from companion.score.section_map import SectionMap


def days_content(
    standing: Standing,
    results: Iterable[SectionResult],
    score: Score,
    section_map: SectionMap,
    *,
    today: date,
    day_starts_at_hour: int,
) -> DaysContent:
    """Everything that the page of the days shows of a piece."""
    return DaysContent(
        sections=tuple(_section_days(standing, score, section_map)),
        takes=_take_rows(standing.takes, results, score, section_map, day_starts_at_hour),
        measure_numbers=tuple(measure.number for measure in score.measures),
        today=today,
    )


def today_lines(content: DaysContent, hands_names: dict[Hands, str]) -> tuple[TakeLine, ...]:
    """The takes of today in two lines each, newest first."""
    return tuple(
        TakeLine(take_id=row.take.take_id, head=_head(row), figures=_figures(row, hands_names))
        for row in content.takes
        if row.day == content.today
    )


def _section_days(
    standing: Standing, score: Score, section_map: SectionMap
) -> Iterable[SectionDays]:
    for section in section_map.sections:
        stretch = Stretch.of(section)
        first = score.measures[min(section.start.measure_index, len(score.measures) - 1)]
        beyond = section.end.measure_index + (1 if section.end.offset_quarters else 0)
        yield SectionDays(
            section_id=section.section_id,
            name=section.name,
            span=wording.measure_span(section, score.measures).split(" ", 1)[-1],
            level=section_map.depth(section.section_id),
            from_measure_index=section.start.measure_index,
            to_measure_index=beyond,
            summary=standing.sections.get(stretch) or empty_summary(stretch),
            beat_quarters=first.beat_quarters,
            beat_name=wording.beat_name(first.beat_quarters),
            target_quarters_per_minute=target_of(section, section_map, score),
        )


def _take_rows(
    takes: Iterable[Take],
    results: Iterable[SectionResult],
    score: Score,
    section_map: SectionMap,
    day_starts_at_hour: int,
) -> tuple[TakeRow, ...]:
    ids = {Stretch.of(section): section.section_id for section in section_map.sections}
    top = {Stretch.of(section) for section in section_map.top_level}
    by_take: dict[str, list[SectionResult]] = defaultdict(list)
    for result in results:
        by_take[result.take_id].append(result)
    return tuple(
        _take_row(take, by_take[take.take_id], score, ids, top, day_starts_at_hour)
        for take in takes
    )


def _take_row(
    take: Take,
    rows: list[SectionResult],
    score: Score,
    ids: dict[Stretch, str],
    top: set[Stretch],
    day_starts_at_hour: int,
) -> TakeRow:
    day = practice_day(take.started_at, take.zone, day_starts_at_hour)
    touched = [row for row in rows if row.passages]
    if not touched:
        return TakeRow(take=take, day=day)
    whole = [row for row in touched if row.stretch in top] or touched
    right, wrong = sum(r.right for r in whole), sum(r.wrong for r in whole)
    expected = sum(r.expected for r in whole)
    played = right + wrong + sum(r.added for r in whole)
    tempi = [
        (row.running_tempo_quarters_per_minute, row.expected)
        for row in whole
        if row.running_tempo_quarters_per_minute is not None
    ]
    weight = sum(notes for _, notes in tempi)
    quarters = sum(tempo * notes for tempo, notes in tempi) / weight if weight else None
    leaves = [row.stretch for row in touched]
    first = min(leaves, key=lambda stretch: stretch.start)
    last = max(leaves, key=lambda stretch: stretch.end)
    measure = score.measures[min(first.start.measure_index, len(score.measures) - 1)]
    last_index = last.end.measure_index - (0 if last.end.offset_quarters else 1)
    last_number = score.measures[max(0, min(last_index, len(score.measures) - 1))].number
    return TakeRow(
        take=take,
        day=day,
        measures=measure.number
        if measure.number == last_number
        else f"{measure.number}–{last_number}",
        section_ids=frozenset(ids[stretch] for stretch in leaves if stretch in ids),
        hands=whole[0].hands if len({row.hands for row in whole}) == 1 else Hands.BOTH,
        accuracy=2 * right / (played + expected) if played + expected else None,
        expected=expected,
        beats_per_minute=quarters / float(measure.beat_quarters) if quarters else None,
        stops=sum(row.stops for row in whole),
        restarts=sum(row.restarts for row in whole),
    )


def _head(row: TakeRow) -> str:
    clock = row.take.started_at.astimezone(zone_named(row.take.zone)).strftime("%H:%M")
    name = f", {row.take.name}" if row.take.name else ""
    if not row.measures:
        return f"{clock}{name}"
    return wording.tr("{clock}, measures {measures}{name}").format(
        clock=clock, measures=row.measures, name=name
    )


def _figures(row: TakeRow, hands_names: dict[Hands, str]) -> str:
    if row.accuracy is None:
        return wording.tr("{n} notes, not compared yet").format(n=row.take.note_count)
    parts = [f"{round(row.accuracy * 100)} %"]
    if row.beats_per_minute is not None:
        parts.append(wording.tr("tempo {tempo}").format(tempo=round(row.beats_per_minute)))
    if row.hands is not None:
        parts.append(hands_names[row.hands])
    return ", ".join(parts)
