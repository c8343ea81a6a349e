"""From the measures of a take to its attempts at each section."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from companion.history.knowing.attempts import Attempt
from companion.history.model import Take
from companion.history.results import Stretch
from companion.listening.measuring.take_measures import SectionMeasures, TakeMeasures
from companion.listening.notes import Beginning, Match, Passage
from companion.score.sections.section_map import Section, SectionMap


def attempts_of(
    take: Take, section_map: SectionMap, match: Match, measures: TakeMeasures
) -> dict[Stretch, Attempt]:
    """Return the first time that a take came through each section it touched.

    That is the first passage in the section, with those that go on from it as the score asks
    (repeats, endings, D.C.); a restart or a jump ends it.

    Parameters
    ----------
    match, measures
        Of this take, measured with this section map.
    """
    rows: dict[str, list[SectionMeasures]] = defaultdict(list)
    for row in measures.passages:
        rows[row.section_id].append(row)
    return {
        Stretch.of(section): _attempt(take, section, rows[section.section_id], match.passages)
        for section in section_map.sections
        if rows[section.section_id]
    }


def _attempt(
    take: Take, section: Section, rows: Sequence[SectionMeasures], passages: Sequence[Passage]
) -> Attempt:
    first = min(_passage(row) for row in rows)
    behind = first + 1
    while behind < len(passages) and passages[behind].began_with is Beginning.GOES_ON:
        behind += 1
    run = [row for row in rows if _passage(row) < behind and row.hands is passages[first].hands]
    fullest = max(run, key=lambda row: row.coverage)
    complete = any(row.complete for row in run)
    return Attempt(
        take_id=take.take_id,
        started_at=take.started_at,
        zone=take.zone,
        hands=passages[first].hands,
        coverage=fullest.coverage,
        complete=complete,
        began_again=not complete and _goes_back_into(section, passages[behind : behind + 1]),
        expected=sum(row.expected for row in run),
        wrong=sum(row.wrong for row in run),
        missed=sum(row.missed for row in run),
        added=sum(row.added for row in run),
        edge_errors=sum(row.edge_errors for row in run),
        stops=sum(row.stops for row in run),
        running_tempo_quarters_per_minute=fullest.running_tempo_quarters_per_minute,
        from_memory=take.from_memory,
    )


def _passage(row: SectionMeasures) -> int:
    if row.passage is None:
        raise ValueError("a row of one passage is asked for")
    return row.passage


def _goes_back_into(section: Section, following: Sequence[Passage]) -> bool:
    return any(
        passage.began_with is Beginning.RESTART
        and section.start.measure_index <= passage.from_measure_index
        and passage.from_measure_index
        < max(section.end.measure_index, section.start.measure_index + 1)
        for passage in following
    )
