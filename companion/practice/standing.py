"""How the piece on the stand stands, from the results of its takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from companion.history.days import DAY_STARTS_AT_HOUR, bounds_of_day, practice_day
from companion.history.knowing.standing import PieceStanding
from companion.history.model import Take
from companion.history.results import Stretch, stretches_of
from companion.history.summaries import (
    SectionSummary,
    empty_summary,
    heat_strip,
    summarise_sections,
)
from companion.listening.measuring.take_measures import MeasureErrors
from companion.listening.notes import Hands
from companion.score.sections.section_map import SectionMap
from companion.storage.history_file import HistoryFile

NEWEST_TAKES = 1000
"""So many takes are looked at one by one; of older ones only sums, until all are asked for.

That is half a year of daily practice. What is known since when is always told from all takes.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How a piece stands: everything that the section map shows of its history.

    Parameters
    ----------
    takes
        Newest first, without events; none that began before ``since``.
    sections
        One summary per stretch of the map, with its days since ``since``; how many takes touched it
        is told of all of them, and its last day too.
    measures
        Counts of the measures that were played since ``since``: what went wrong years ago is over.
    takes_to_work_out
        How many takes lack results; the summaries are without them until they are there.
    since
        The moment from which on takes are looked at one by one; None for all of them.
    """

    takes: tuple[Take, ...] = field(repr=False)
    sections: Mapping[Stretch, SectionSummary] = field(repr=False)
    measures: tuple[MeasureErrors, ...] = field(repr=False)
    takes_to_work_out: int
    since: datetime | None = None


def standing_of(
    history: HistoryFile,
    piece_id: str,
    basis: str,
    section_map: SectionMap,
    day_starts_at_hour: int = DAY_STARTS_AT_HOUR,
    newest: int | None = None,
    known: PieceStanding | None = None,
) -> Standing:
    """Return how a piece stands, from what is worked out already.

    Parameters
    ----------
    newest
        Look at no more than about so many takes one by one; None for all. What then is told of all
        of them comes from ``known``.
    known
        What is known of the sections, from all takes.
    """
    stretches = stretches_of(section_map)
    takes, since = _newest_takes(history, piece_id, newest, day_starts_at_hour)
    summaries = summarise_sections(
        history.section_glances(piece_id, basis, stretches, since), day_starts_at_hour
    )
    if since is not None and known is not None:
        counts = {section.stretch: section.take_count for section in known}
        summaries = _of_all_takes(history, piece_id, basis, counts, summaries, day_starts_at_hour)
    return Standing(
        takes=takes,
        sections={
            stretch: summaries.get(stretch) or empty_summary(stretch) for stretch in stretches
        },
        measures=heat_strip(history.measure_counts(piece_id, basis, since)),
        takes_to_work_out=len(history.missing_stretches(piece_id, basis, stretches))
        if known is None
        else known.takes_to_work_out,
        since=since,
    )


def newest_since(history: HistoryFile, piece_id: str) -> datetime | None:
    """Return the moment from which on takes are looked at one by one; None for all of them.

    For what only the newest takes weigh in, so that ten years of them need not be read.
    """
    return _newest_takes(history, piece_id, NEWEST_TAKES, DAY_STARTS_AT_HOUR)[1]


def _newest_takes(
    history: HistoryFile, piece_id: str, newest: int | None, day_starts_at_hour: int
) -> tuple[tuple[Take, ...], datetime | None]:
    """The takes to look at, and when they begin: with a whole day. None when these are all."""
    takes = history.takes_of(piece_id, newest=None if newest is None else newest + 1)
    if newest is None or len(takes) <= newest:
        return takes, None
    oldest = takes[-1]
    day = practice_day(oldest.started_at, oldest.zone, day_starts_at_hour)
    since = bounds_of_day(day, oldest.zone, day_starts_at_hour)[1]
    of_whole_days = tuple(take for take in takes if take.started_at >= since)
    # more takes on a single day than are looked at: they are shown as far as they go
    return (of_whole_days, since) if of_whole_days else (takes, oldest.started_at)


def _of_all_takes(
    history: HistoryFile,
    piece_id: str,
    basis: str,
    counts: Mapping[Stretch, int],
    newest: Mapping[Stretch, SectionSummary],
    day_starts_at_hour: int,
) -> dict[Stretch, SectionSummary]:
    """Summaries with the counts of all takes, and all days where the newest are too few."""
    long_ago = [
        stretch
        for stretch, count in counts.items()
        if count and (stretch not in newest or not newest[stretch].days_with(Hands.BOTH))
    ]
    found = dict(newest)
    if long_ago:
        found |= summarise_sections(
            history.section_glances(piece_id, basis, long_ago), day_starts_at_hour
        )
    return {
        stretch: replace(summary, take_count=counts.get(stretch, summary.take_count))
        for stretch, summary in found.items()
    }
