"""From the rows of the history to what the page of the days shows. No Qt, no database."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from fractions import Fraction
from itertools import pairwise
from statistics import median

import numpy as np
from numpy.typing import NDArray

from companion.desktop.days.content import DayMeasures, DaysContent, SectionDays, TakeRow
from companion.desktop.section_map.wording import (
    beat_name,
    first_measure_number,
    last_measure_number,
)
from companion.history.days import practice_day
from companion.history.model import Take
from companion.history.results import SectionResult, Stretch
from companion.history.summaries import empty_summary, heat_strip, summarise_sections
from companion.listening.notes import Hands
from companion.score.model import Measure, Score
from companion.score.sections.section_map import Section, SectionMap

_PLAYS = 1  # column of the counts per measure, see summaries.COUNTS_OF_A_MEASURE


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceHistory:
    """What was read from the history for one piece.

    ``counts`` are the counts per measure of each take (columns as
    ``summaries.COUNTS_OF_A_MEASURE``); ``targets`` the target tempo in quarters per minute that
    holds for each section, by id.

    With ``since`` everything is only of the takes from that moment on, but for ``take_counts``.
    """

    takes: Sequence[Take]
    results: Sequence[SectionResult]
    counts: Mapping[str, NDArray[np.int64]]
    targets: Mapping[str, float]
    day_starts_at_hour: int
    today: date
    take_counts: Mapping[Stretch, int] = field(default_factory=dict)
    since: datetime | None = None


def days_content(
    score: Score,
    section_map: SectionMap,
    history: PieceHistory,
    tasks: Sequence[Section] = (),
) -> DaysContent:
    """Fill the page of the days for one piece.

    Parameters
    ----------
    tasks
        Parts of sections with a history of their own; they do not lie in the map.
    """
    summaries = summarise_sections(history.results, history.day_starts_at_hour)

    def days_of(section: Section, level: int) -> SectionDays:
        stretch, beat = Stretch.of(section), _beat_at(section, score.measures)
        summary = summaries.get(stretch) or empty_summary(stretch)
        count = history.take_counts.get(stretch, summary.take_count)
        return SectionDays(
            section_id=section.section_id,
            name=section.name,
            span=_span(section, score.measures),
            level=level,
            from_measure_index=section.start.measure_index,
            to_measure_index=_end_measure(section),
            summary=replace(summary, take_count=count),
            beat_quarters=beat,
            beat_name=beat_name(beat),
            target_quarters_per_minute=history.targets.get(section.section_id),
        )

    return DaysContent(
        sections=tuple(
            days_of(section, section_map.depth(section.section_id))
            for section in section_map.sections
        ),
        tasks=tuple(days_of(task, 0) for task in tasks),
        takes=_take_rows(score, section_map, history),
        day_measures=_day_measures(history),
        measure_numbers=tuple(measure.number for measure in score.measures),
        today=history.today,
        since=history.since,
    )


def _take_rows(score: Score, section_map: SectionMap, history: PieceHistory) -> tuple[TakeRow, ...]:
    by_take: dict[str, list[SectionResult]] = defaultdict(list)
    for result in history.results:
        by_take[result.take_id].append(result)
    ids = defaultdict(set)
    for section in section_map.sections:
        ids[Stretch.of(section)].add(section.section_id)
    leaves = {Stretch.of(section): section for section in section_map.leaves}
    rows = []
    for take in sorted(history.takes, key=lambda take: take.started_at, reverse=True):
        results = by_take[take.take_id]
        inside = [result for result in results if result.stretch in leaves]
        rows.append(
            TakeRow(
                take=take,
                day=practice_day(take.started_at, take.zone, history.day_starts_at_hour),
                measures=measures_played(history.counts.get(take.take_id), score.measures),
                section_ids=frozenset(i for result in results for i in ids[result.stretch]),
                hands=_hands(inside),
                accuracy=_accuracy(inside),
                expected=sum(result.expected for result in inside),
                beats_per_minute=_tempo(inside, leaves, score.measures),
                stops=sum(result.stops for result in inside),
                restarts=sum(result.restarts for result in inside),
            )
        )
    return tuple(rows)


def _accuracy(results: Iterable[SectionResult]) -> float | None:
    """F1 over several sections: twice the right notes over played and expected ones."""
    right = both = 0
    for result in results:
        right += result.right
        both += (result.right + result.wrong + result.added) + result.expected
    return 2 * right / both if both else None


def _tempo(
    results: Iterable[SectionResult],
    leaves: Mapping[Stretch, Section],
    measures: tuple[Measure, ...],
) -> float | None:
    """Median of the running tempi of the sections, each in its own beats."""
    tempi = [
        result.running_tempo_quarters_per_minute / float(_beat_at(leaves[result.stretch], measures))
        for result in results
        if result.running_tempo_quarters_per_minute is not None
    ]
    return median(tempi) if tempi else None


def _hands(results: Sequence[SectionResult]) -> Hands | None:
    """The hands with which most of the take was played."""
    notes: Counter[Hands] = Counter()
    for result in results:
        notes[result.hands] += result.expected
    return notes.most_common(1)[0][0] if notes else None


def measures_played(counts: NDArray[np.int64] | None, measures: tuple[Measure, ...]) -> str:
    """Which measures a take went through, as printed: "1-16, 33"; empty for none."""
    if counts is None or not counts.size:
        return ""
    indices = sorted({int(row[0]) for row in counts if row[_PLAYS] and row[0] < len(measures)})
    if not indices:
        return ""
    runs, first = [], indices[0]
    for one, following in pairwise([*indices, len(measures) + 1]):
        if following > one + 1:
            runs.append((measures[first].number, measures[one].number))
            first = following
    return ", ".join(a if a == b else f"{a}–{b}" for a, b in runs)


def _day_measures(history: PieceHistory) -> tuple[DayMeasures, ...]:
    by_day: dict[date, list[NDArray[np.int64]]] = defaultdict(list)
    for take in history.takes:
        counts = history.counts.get(take.take_id)
        if counts is not None and counts.size:
            day = practice_day(take.started_at, take.zone, history.day_starts_at_hour)
            by_day[day].append(counts)
    return tuple(
        DayMeasures(day=day, measures=heat_strip(np.concatenate(tables)))
        for day, tables in sorted(by_day.items())
    )


def _span(section: Section, measures: tuple[Measure, ...]) -> str:
    first, last = first_measure_number(section, measures), last_measure_number(section, measures)
    return first if first == last else f"{first}–{last}"


def _end_measure(section: Section) -> int:
    """Index of the first measure of which nothing belongs to the section."""
    return section.end.measure_index + (1 if section.end.offset_quarters else 0)


def _beat_at(section: Section, measures: tuple[Measure, ...]) -> Fraction:
    return measures[min(section.start.measure_index, len(measures) - 1)].beat_quarters
