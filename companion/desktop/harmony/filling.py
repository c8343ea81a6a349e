"""Makes the content of the page of the harmony; without Qt's widgets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from companion.analysis.harmony import Harmony, KeyArea
from companion.analysis.harmony_table import UNSURE_BELOW
from companion.desktop.harmony.content import HarmonyContent, KeyLine, SectionLine
from companion.history.recited import Recited, recited_by_section
from companion.score.model import Position, Score
from companion.score.sections.proposal import measures_as_name
from companion.score.sections.section_map import Section, SectionMap


def fill(
    score: Score,
    section_map: SectionMap,
    harmony: Harmony | None,
    answers: Iterable[Recited],
    day_starts_at_hour: int,
) -> HarmonyContent:
    """Return what the page shows."""
    if harmony is None:
        return HarmonyContent(waiting=True)
    areas = harmony.key_areas
    limits = {each.section_id: limits_of(score, each) for each in section_map.sections}
    recited = recited_by_section(answers, limits, day_starts_at_hour)
    return HarmonyContent(
        keys=tuple(
            KeyLine(
                measure_index=area.position.measure_index,
                measures=measures_as_name(
                    score, area.position, score.position_at(area.end_quarters)
                ),
                key=area.key.spoken_name,
            )
            for area in areas
        ),
        sections=tuple(
            SectionLine(
                section_id=each.section_id,
                name=each.name,
                level=section_map.depth(each.section_id),
                measures=measures_as_name(score, each.start, each.end),
                start_quarters=limits[each.section_id][0],
                end_quarters=limits[each.section_id][1],
                keys=_keys_in(areas, *limits[each.section_id]),
                recited=recited[each.section_id],
            )
            for each in section_map.sections
        ),
        chord_count=len(harmony.spans),
        doubtful_count=sum(span.confidence < UNSURE_BELOW for span in harmony.spans),
    )


def limits_of(score: Score, section: Section) -> tuple[Fraction, Fraction]:
    """Start and end of a section in quarters as printed."""
    return _quarters(score, section.start), _quarters(score, section.end)


def _quarters(score: Score, position: Position) -> Fraction:
    if position.measure_index >= len(score.measures):
        last = score.measures[-1]
        return last.start_quarters + last.duration_quarters
    return score.measures[position.measure_index].start_quarters + position.offset_quarters


def _keys_in(areas: Sequence[KeyArea], start: Fraction, end: Fraction) -> str:
    """The keys of a stretch in the order in which they come."""
    return ", ".join(
        area.key.spoken_name
        for area in areas
        if area.start_quarters < end and area.end_quarters > start
    )
