"""From the history to the values of a report."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

from companion.history.days import DAY_STARTS_AT_HOUR, practice_day
from companion.history.knowing.order import Standing, hardest_known_longest
from companion.history.knowing.words import (
    changes_in_words,
    flaws_in_words,
    order_in_words,
    rules_in_words,
)
from companion.history.model import Take
from companion.history.results import Stretch, stretches_of
from companion.history.summaries import SectionSummary, summarise_sections
from companion.listening.notes import Hands
from companion.practice.knowing import KnowingAsked, piece_standing
from companion.practice.report.readiness import last_check
from companion.practice.report.resisting import TakeCounts, resisting_passages
from companion.practice.report.values import (
    ColdDay,
    DayFigures,
    PlayedDay,
    Remark,
    ReportSection,
    ReportValues,
)
from companion.score.sections.section_map import Section, SectionMap

if TYPE_CHECKING:
    from companion.history.knowing.standing import PieceStanding, SectionStanding
    from companion.practice.opening import OpenPiece
    from companion.score.model import Measure
    from companion.storage.history_file import HistoryFile

MOST_REMARKS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportAsked:
    """Which report is wanted.

    Parameters
    ----------
    today
        The practice day, the last day of the period.
    from_day
        First day of the period; None from the first take on.
    player, letter
        As typed by the student.
    with_remarks, with_playing_time
        Whether remarks on takes and playing time are told.
    hardness
        How hard the sections are, by id (any scale): for the question whether the hardest are
        those known longest. None leaves it out.
    """

    today: date
    from_day: date | None = None
    player: str = ""
    letter: str = ""
    with_remarks: bool = True
    with_playing_time: bool = True
    hardness: Mapping[str, float] | None = None
    day_starts_at_hour: int = field(default=DAY_STARTS_AT_HOUR)


def report_values(
    history: HistoryFile, opened: OpenPiece, section_map: SectionMap, asked: ReportAsked
) -> ReportValues:
    """Work up a report of one piece, from what is worked out of its takes already.

    Raises
    ------
    HistoryUnavailable
        The file cannot be read.
    """
    piece, measures = opened.piece, opened.score.measures
    hour = asked.day_starts_at_hour
    takes = [(practice_day(take.started_at, take.zone, hour), take)
             for take in reversed(history.takes_of(piece.piece_id))]  # fmt: skip
    takes = [(day, take) for day, take in takes if day <= asked.today]
    from_day = asked.from_day or (takes[0][0] if takes else asked.today)
    in_period = [(day, take) for day, take in takes if day >= from_day]
    standing = piece_standing(
        history,
        KnowingAsked(
            piece_id=piece.piece_id,
            basis=opened.basis,
            score=opened.score,
            section_map=section_map,
            today=asked.today,
            performance=piece.performance_date,
            day_starts_at_hour=hour,
        ),
    )
    summaries = summarise_sections(
        history.section_glances(piece.piece_id, opened.basis, stretches_of(section_map)), hour
    )
    counts = history.measure_counts_by_take(piece.piece_id, opened.basis)
    return ReportValues(
        title=piece.title,
        composer=piece.composer,
        player=asked.player,
        from_day=from_day,
        to_day=asked.today,
        performance=piece.performance_date,
        measure_count=len(measures),
        sections=_sections(section_map, standing, summaries, measures, (from_day, asked.today)),
        playing=_playing(in_period) if asked.with_playing_time else (),
        resisting=resisting_passages(
            (
                TakeCounts(day, counts[take.take_id])
                for day, take in in_period
                if take.take_id in counts
            ),
            [measure.number for measure in measures],
            _names_by_measure(section_map, len(measures)),
        ),
        remarks=_remarks(in_period) if asked.with_remarks else (),
        readiness=last_check(history, piece.piece_id, asked.today, hour),
        rules=rules_in_words(standing.rules),
        order=_order(section_map, standing, asked.hardness, asked.today),
        letter=asked.letter,
        takes_to_work_out=standing.takes_to_work_out,
    )


def _order(
    section_map: SectionMap,
    piece: PieceStanding,
    hardness: Mapping[str, float] | None,
    today: date,
) -> str:
    """Answer whether the hardest sections are those known longest; empty when nobody can tell."""
    if hardness is None:
        return ""
    answer = hardest_known_longest(
        Standing(
            section_id=section.section_id,
            name=section.name,
            workload=hardness[section.section_id],
            days_known=standing.days_known(today),
        )
        for section in section_map.leaves
        if section.section_id in hardness
        and (standing := piece.section(section.section_id)) is not None
    )
    return " ".join([order_in_words(answer), *changes_in_words(answer)[:1]])


def _sections(
    section_map: SectionMap,
    standing: PieceStanding,
    summaries: Mapping[Stretch, SectionSummary],
    measures: Sequence[Measure],
    period: tuple[date, date],
) -> tuple[ReportSection, ...]:
    return tuple(
        _section(
            section,
            section_map.depth(section.section_id),
            standing,
            summaries.get(Stretch.of(section)),
            measures,
            period,
        )
        for section in section_map.sections
    )


def _section(
    section: Section,
    level: int,
    piece: PieceStanding,
    summary: SectionSummary | None,
    measures: Sequence[Measure],
    period: tuple[date, date],
) -> ReportSection:
    standing = piece.section(section.section_id)
    first, behind = section.start.measure_index, _end_measure(section)
    here = measures[min(first, len(measures) - 1)]
    last = measures[min(max(behind - 1, first), len(measures) - 1)]
    told = ReportSection(
        section_id=section.section_id,
        name=section.name,
        level=level,
        from_measure=here.number,
        to_measure=last.number,
        from_measure_index=first,
        to_measure_index=behind,
        purpose=section.purpose,
        beat_quarters=here.beat_quarters,
        days=_days(summary, period) if summary is not None else (),
    )
    return told if standing is None else _with_standing(told, standing, piece)


def _with_standing(
    section: ReportSection, standing: SectionStanding, piece: PieceStanding
) -> ReportSection:
    target = standing.target_quarters_per_minute
    estimate = standing.retention
    told = bool(estimate.count)
    return replace(
        section,
        target_quarters_per_minute=target,
        state=standing.state,
        known_since=standing.known_since,
        lapsed_on=standing.lapsed_on,
        clean_days=standing.clean_days,
        days_to_know=piece.rules.days_to_know,
        probability=estimate.probability if told else None,
        low=estimate.low if told else None,
        high=estimate.high if told else None,
        cold=tuple(
            ColdDay(
                day=take.day,
                clean=take.clean,
                why_not=flaws_in_words(take, target, section.beat_quarters),
                from_memory=take.attempt.from_memory,
            )
            for take in standing.cold_takes
        ),
    )


def _days(summary: SectionSummary, period: tuple[date, date]) -> tuple[DayFigures, ...]:
    return tuple(
        DayFigures(
            day=day.day,
            takes=day.take_count,
            accuracy=day.median_accuracy,
            quarters_per_minute=day.median_quarters_per_minute,
        )
        for day in summary.days_with(Hands.BOTH)
        if period[0] <= day.day <= period[1]
    )


def _end_measure(section: Section) -> int:
    """Index of the first measure of which nothing belongs to the section."""
    return section.end.measure_index + (1 if section.end.offset_quarters else 0)


def _names_by_measure(section_map: SectionMap, measure_count: int) -> list[list[str]]:
    """The sections around each measure, the innermost first."""
    names: list[list[str]] = [[] for _ in range(measure_count)]
    for section in section_map.sections:  # parents come before their children
        for index in range(section.start.measure_index, min(_end_measure(section), measure_count)):
            names[index].insert(0, section.name)
    return names


def _playing(takes: Iterable[tuple[date, Take]]) -> tuple[PlayedDay, ...]:
    counted: dict[date, tuple[int, float]] = {}
    for day, take in takes:
        count, minutes = counted.get(day, (0, 0.0))
        counted[day] = (count + 1, minutes + take.duration_seconds / 60)
    return tuple(
        PlayedDay(day=day, takes=count, minutes=minutes)
        for day, (count, minutes) in sorted(counted.items())
    )


def _remarks(takes: Iterable[tuple[date, Take]]) -> tuple[Remark, ...]:
    found = [
        Remark(day=day, about=take.name, text=take.remark.strip())
        for day, take in takes
        if take.remark.strip()
    ]
    return tuple(found[-MOST_REMARKS:])
