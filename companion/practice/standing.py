"""How the piece on the stand stands, from the results of its takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from companion.history.days import DAY_STARTS_AT_HOUR
from companion.history.model import Take
from companion.history.results import Stretch, stretches_of
from companion.history.summaries import (
    SectionSummary,
    empty_summary,
    heat_strip,
    summarise_sections,
)
from companion.listening.measuring.take_measures import MeasureErrors
from companion.score.sections.section_map import SectionMap
from companion.storage.history_file import HistoryFile


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How a piece stands: everything that the section map shows of its history.

    Parameters
    ----------
    takes
        Newest first, without events.
    sections
        One summary per stretch of the map.
    measures
        Counts of the measures that were played.
    takes_to_work_out
        How many takes lack results; the summaries are without them until they are there.
    """

    takes: tuple[Take, ...] = field(repr=False)
    sections: Mapping[Stretch, SectionSummary] = field(repr=False)
    measures: tuple[MeasureErrors, ...] = field(repr=False)
    takes_to_work_out: int


def standing_of(
    history: HistoryFile,
    piece_id: str,
    basis: str,
    section_map: SectionMap,
    day_starts_at_hour: int = DAY_STARTS_AT_HOUR,
) -> Standing:
    """Return how a piece stands, from what is worked out already."""
    stretches = stretches_of(section_map)
    summaries = summarise_sections(
        history.section_glances(piece_id, basis, stretches), day_starts_at_hour
    )
    return Standing(
        takes=history.takes_of(piece_id),
        sections={
            stretch: summaries.get(stretch) or empty_summary(stretch) for stretch in stretches
        },
        measures=heat_strip(history.measure_counts(piece_id, basis)),
        takes_to_work_out=len(history.missing_stretches(piece_id, basis, stretches)),
    )
