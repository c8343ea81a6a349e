"""How ready the piece on the stand is."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta

from companion.history.knowing.standing import SectionStanding
from companion.history.planning.stages import TEMPO_SHARE
from companion.history.readiness.estimate import Readiness, RunThroughs, readiness
from companion.history.readiness.evidence import section_evidence
from companion.practice.knowing import KnowingAsked, piece_standing
from companion.practice.planning.situation import PlanAsked, touched_by_takes
from companion.storage.history_file import HistoryFile

RUN_THROUGHS_OF_DAYS = 28
"""Whole runs of so many days stand beside the estimate (project convention)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceReadiness:
    """How ready a piece is, with how its sections stand, in the order of the piece.

    ``by_heart`` is whether it will be played from memory.
    """

    readiness: Readiness
    standings: tuple[SectionStanding, ...] = field(repr=False)
    cold_today: bool
    by_heart: bool = False

    @property
    def all_known(self) -> bool:
        """Whether every section is known, at the tempo that is aimed at."""
        return all(
            each.known_since is not None
            and (each.tempo_share is None or each.tempo_share >= TEMPO_SHARE)
            for each in self.standings
        )


def piece_readiness(history: HistoryFile, asked: PlanAsked) -> PieceReadiness:
    """Return how ready a piece is today, from everything that was played until now.

    Raises
    ------
    HistoryUnavailable
        The file cannot be read.
    """
    touched = touched_by_takes(history, asked)
    standing = piece_standing(
        history,
        KnowingAsked(
            piece_id=asked.piece_id,
            basis=asked.basis,
            score=asked.score,
            section_map=asked.section_map,
            today=asked.today,
            performance=asked.performance,
            day_starts_at_hour=asked.day_starts_at_hour,
        ),
    )
    by_id = {each.section_id: each for each in standing}
    standings = tuple(by_id[section.section_id] for section in asked.sections)
    notes = notes_of_sections(asked)
    since = asked.today - timedelta(days=RUN_THROUGHS_OF_DAYS)
    runs, without_stop = touched.cold_run_throughs(since)
    return PieceReadiness(
        readiness=readiness(
            (
                section_evidence(each, count, asked.today)
                for each, count in zip(standings, notes, strict=True)
            ),
            asked.today,
            run_throughs=RunThroughs(count=runs, without_stop=without_stop),
        ),
        standings=standings,
        cold_today=not touched.on(asked.today),
        by_heart=asked.choices.from_memory,
    )


def notes_of_sections(asked: PlanAsked) -> tuple[int, ...]:
    """Return how many notes are expected in each section, in the order of the piece."""
    counts = []
    for section in asked.sections:
        start, end = asked.score.quarters_at(section.start), asked.score.quarters_at(section.end)
        counts.append(
            sum(
                note.expected and not note.grace and start <= note.onset_quarters < end
                for note in asked.score.notes
            )
        )
    return tuple(counts)
