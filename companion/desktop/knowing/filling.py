"""From how a piece stands to what is shown of it. No widgets here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from companion.desktop.knowing import wording
from companion.desktop.knowing.content import KnowingContent, KnowingRow
from companion.desktop.section_map.depth_lane import DepthLane, DepthLayer, SectionDepth
from companion.desktop.section_map.wording import beat_name, measure_span
from companion.history.knowing.known import State
from companion.history.knowing.order import OrderAnswer, Standing, hardest_known_longest
from companion.history.knowing.standing import PieceStanding, SectionStanding
from companion.score.model import Measure
from companion.score.sections.section_map import Section, SectionMap

_ORDER_OF_STATES = (State.KNOWN, State.LAPSED, State.LEARNING, State.NEW)


def knowing_content(
    standing: PieceStanding,
    section_map: SectionMap,
    measures: Sequence[Measure],
    *,
    tasks: Sequence[Section] = (),
    hardness: Mapping[str, float] | None = None,
    by_teacher: bool = False,
) -> KnowingContent:
    """Fill what is shown of a piece: the sections that have none inside, and the tasks.

    Parameters
    ----------
    hardness
        Of each section by id, more for the harder; None while that is not known.
    by_teacher
        Whether it is the order of the teacher.
    """
    rows = []
    for section in (*section_map.leaves, *tasks):
        found = standing.section(section.section_id)
        if found is None:
            continue
        measure = measures[min(section.start.measure_index, len(measures) - 1)]
        rows.append(
            KnowingRow(
                standing=found,
                span=measure_span(section, tuple(measures)),
                beat_quarters=measure.beat_quarters,
                beat_name=beat_name(measure.beat_quarters),
            )
        )
    return KnowingContent(
        rows=known_longest_first(rows),
        standing=standing,
        answer=_answer(standing, section_map, hardness) if hardness else None,
        by_teacher=by_teacher,
    )


def known_longest_first(rows: Sequence[KnowingRow]) -> tuple[KnowingRow, ...]:
    """Sort: known longest first; alike ones by fewer stops when cold, then as in the score."""

    def place(row: KnowingRow) -> tuple[int, date, int, int]:
        standing = row.standing
        state = _ORDER_OF_STATES.index(standing.state)
        since = standing.known_since or date.max
        stops = 0
        if standing.state is State.KNOWN:
            stops = sum(take.attempt.stops for take in standing.cold_takes[-3:])
        return (state, since, -standing.clean_days, stops)

    return tuple(sorted(rows, key=place))  # stable: the rest stays as in the score


def _answer(
    standing: PieceStanding, section_map: SectionMap, hardness: Mapping[str, float]
) -> OrderAnswer:
    asked = []
    for section in section_map.leaves:
        found = standing.section(section.section_id)
        if found is not None and section.section_id in hardness:
            asked.append(
                Standing(
                    section_id=section.section_id,
                    name=section.name,
                    workload=hardness[section.section_id],
                    days_known=found.days_known(standing.today),
                )
            )
    return hardest_known_longest(asked)


def depth_lane(standing: PieceStanding) -> DepthLane | None:
    """Return the cores that the map shows; None before anything was played cold."""
    if not any(section.cold_takes for section in standing):
        return None
    return DepthLane(
        tuple(
            SectionDepth(
                section_id=section.section_id,
                layers=layers_of(section, standing.today),
                words=wording.core_words(section, standing.rules, standing.today),
                sentence=wording.depth_sentence(section, standing.rules, standing.today),
            )
            for section in standing
            if not section.is_task
        )
    )


def layers_of(section: SectionStanding, today: date) -> tuple[DepthLayer, ...]:
    """Return the core of a section from today down: times known, and lapses between them."""
    layers: list[DepthLayer] = []
    newest = 0
    for spell in reversed(section.spells):
        if spell.lapsed_on is not None:
            lapsed = (today - spell.lapsed_on).days
            if lapsed > newest:
                layers.append(DepthLayer(newest, lapsed, lapsed=True))
            newest = max(newest, lapsed)
        since = (today - spell.known_since).days
        layers.append(DepthLayer(newest, max(since, newest)))
        newest = max(since, newest)
    return tuple(layers)
