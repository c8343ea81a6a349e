"""Working out a take: match and measures in one value, for a worker process.

Raw takes are the truth; everything here can be done again. :mod:`companion.practice.basis` names
what results stand on. When it changes (a better method, another score, other hands) all takes of a
piece are worked out again; when a border of a section moves, only the new stretches are, from
stored matches.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from companion.history.model import Take
from companion.history.results import (
    Stretch,
    TakeResults,
    section_result,
    stretches_of,
)
from companion.listening.heard import heard_from
from companion.listening.measuring.take_measures import TakeMeasures
from companion.listening.notes import Match
from companion.progress import Progress, Report, no_report
from companion.score.model import Score
from companion.score.sections.section_map import SectionMap
from companion.storage.history_file import HistoryFile

if TYPE_CHECKING:
    from companion.listening.measuring.score_index import ScoreIndex

VERSIONS_WITH_RESULTS = 20
"""Results at the borders of so many last versions of a section map are kept, for undoing."""

TAKES_IN_A_BATCH = 32
NOTES_IN_A_BATCH = 1500
"""The score is sent to the worker and results are saved once per batch: about a second of work."""

MEASURING_IS_QUICKER = 10
"""Measuring a take with a known match takes so many times less than matching it (measured)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedOut:
    """A take worked out: ``results`` to keep, ``measures`` to show at once."""

    take_id: str
    results: TakeResults
    measures: TakeMeasures
    match: Match = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeToDo:
    """A take to be worked out: ``match`` and ``stretches`` when only these are missing.

    ``stretches`` None means all of the map.
    """

    take: Take
    match: Match | None = None
    stretches: tuple[Stretch, ...] | None = None


def work_out_take(
    score: Score,
    section_map: SectionMap,
    take: Take,
    basis: str,
    report: Report = no_report,
) -> WorkedOut:
    """Match a take with the score and measure it in every section.

    Everything going in and out can be pickled: it runs in the worker process.

    Parameters
    ----------
    score
        With the pianist's own choice of hands.
    take
        With its events.
    basis
        What :func:`companion.practice.basis.results_basis` says of the score.
    """
    from companion.listening.measuring.score_index import index_score

    report(Progress(done=0, total=2, doing="Comparing the take with the score"))
    worked_out = _work_out(score, section_map, TakeToDo(take=take), basis, index_score(score))
    report(Progress(done=2, total=2, doing="Comparing the take with the score"))
    return worked_out


def work_out_takes(
    score: Score, section_map: SectionMap, to_do: Sequence[TakeToDo], basis: str
) -> tuple[WorkedOut, ...]:
    """Work out several takes of one score: a batch for the worker process."""
    from companion.listening.measuring.score_index import index_score

    index = index_score(score)
    return tuple(_work_out(score, section_map, one, basis, index) for one in to_do)


def _work_out(
    score: Score, section_map: SectionMap, to_do: TakeToDo, basis: str, index: ScoreIndex
) -> WorkedOut:
    # Imported where it is used: the window asks for results, but only its workers make them, and
    # these modules cost it a quarter of a second at the start.
    from companion.history.knowing.from_measures import attempts_of
    from companion.listening.matching.match import match_take
    from companion.listening.measuring.measures import measure_take

    heard = heard_from(to_do.take.events)
    match = (
        to_do.match
        if to_do.match is not None
        else match_take(score.notes, heard.notes, playing_order=score.playing_order)
    )
    wanted = _only(section_map, to_do.stretches)
    measures = measure_take(score, wanted, heard.notes, match, heard.pedals, index)
    stretch_of = {section.section_id: Stretch.of(section) for section in wanted.sections}
    rows = {
        # Two sections may cover the same stretch: a movement with a single section.
        (stretch_of[row.section_id], row.hands): row
        for row in measures.sections
    }
    results = TakeResults(
        take_id=to_do.take.take_id,
        basis=basis,
        stretches=stretches_of(wanted),
        sections=tuple(
            section_result(to_do.take, stretch, row) for (stretch, _), row in rows.items()
        ),
        measures=measures.measures if to_do.match is None else (),
        match=match if to_do.match is None else None,
        attempts=attempts_of(to_do.take, wanted, match, measures),
    )
    return WorkedOut(take_id=to_do.take.take_id, results=results, measures=measures, match=match)


def _only(section_map: SectionMap, stretches: tuple[Stretch, ...] | None) -> SectionMap:
    if stretches is None:
        return section_map
    wanted = set(stretches)
    return SectionMap(sections=tuple(s for s in section_map.sections if Stretch.of(s) in wanted))


WorkOutTakes = Callable[[Score, SectionMap, Sequence[TakeToDo], str], tuple[WorkedOut, ...]]
"""Signature of :func:`work_out_takes`, or of a function that runs it in the worker process."""


def bring_up_to_date(
    history: HistoryFile,
    piece_id: str,
    score: Score,
    section_map: SectionMap,
    basis: str,
    *,
    work_out: WorkOutTakes = work_out_takes,
    report: Report = no_report,
) -> int:
    """Work out everything of a piece that is missing or out of date, newest takes first.

    May be cancelled at any report and begun again: what was done is kept.

    Returns
    -------
    int
        How many takes were worked out.
    """
    missing = history.missing_stretches(piece_id, basis, stretches_of(section_map))
    done = 0
    report(Progress(done=done, total=len(missing), doing="Working out takes"))
    for to_do in _batches(history, basis, missing):
        history.save_results(one.results for one in work_out(score, section_map, to_do, basis))
        history.tidy()
        done += len(to_do)
        report(Progress(done=done, total=len(missing), doing="Working out takes"))
    if done:
        _forget_old_borders(history, piece_id, section_map)
    return done


def _forget_old_borders(history: HistoryFile, piece_id: str, section_map: SectionMap) -> None:
    kept = set(stretches_of(section_map))
    for saved in history.section_map_versions(piece_id)[-VERSIONS_WITH_RESULTS:]:
        if (earlier := history.section_map(piece_id, saved.version)) is not None:
            kept.update(stretches_of(earlier))
    history.keep_only_stretches(piece_id, kept)


def _batches(
    history: HistoryFile, basis: str, missing: Mapping[str, tuple[Stretch, ...]]
) -> Iterator[tuple[TakeToDo, ...]]:
    """Takes in batches that take about the same time, so that results come in steadily."""
    batch: list[TakeToDo] = []
    notes = 0
    for take_id, stretches in missing.items():
        take = history.take(take_id)
        if take is None:
            continue  # the bin was emptied meanwhile
        match = history.match_of(take_id, basis)
        batch.append(
            TakeToDo(take=take, match=match, stretches=None if match is None else stretches)
        )
        notes += take.note_count if match is None else take.note_count // MEASURING_IS_QUICKER
        if notes >= NOTES_IN_A_BATCH or len(batch) >= TAKES_IN_A_BATCH:
            yield tuple(batch)
            batch, notes = [], 0
    if batch:
        yield tuple(batch)
