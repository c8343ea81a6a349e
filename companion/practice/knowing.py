"""How every section of a piece stands: from the stored attempts to plain values, without a window.

Attempts are worked out with the results of a take (:mod:`companion.practice.results`). Everything
that is asked here is cheap: rules, targets, dates and the hour at which a day begins change nothing
that is stored.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from companion.history.days import DAY_STARTS_AT_HOUR
from companion.history.knowing.clean import Thresholds
from companion.history.knowing.played import PlayedStretch
from companion.history.knowing.rules import CLEAN_RULES, rules_from_text
from companion.history.knowing.standing import PieceStanding, SectionAsked, standing_from
from companion.history.results import Stretch, stretches_of
from companion.practice.targets import target_at, target_of
from companion.score.model import Score
from companion.score.sections.section_map import Section, SectionMap
from companion.storage.history_file import HistoryFile


@dataclass(frozen=True, slots=True, kw_only=True)
class KnowingAsked:
    """What is asked about a piece.

    Parameters
    ----------
    basis
        What its results stand on (:func:`companion.practice.basis.results_basis`).
    tasks
        Stretches inside the sections that have a history of their own.
    today
        The practice day.
    rules
        None to take those that are kept with the piece.
    before
        Leave out what was played on this practice day or later: how it stood that morning.
    """

    piece_id: str
    basis: str
    score: Score = field(repr=False)
    section_map: SectionMap = field(repr=False)
    today: date
    performance: date | None = None
    rules: Thresholds | None = None
    day_starts_at_hour: int = DAY_STARTS_AT_HOUR
    tasks: tuple[Section, ...] = ()
    before: date | None = None


def piece_standing(history: HistoryFile, asked: KnowingAsked) -> PieceStanding:
    """Return how all sections and tasks of a piece stand today.

    Raises
    ------
    HistoryUnavailable
        The file cannot be read.
    """
    stretches = tuple({*stretches_of(asked.section_map), *map(Stretch.of, asked.tasks)})
    played = history.played_stretches(
        asked.piece_id, asked.basis, stretches, asked.day_starts_at_hour, asked.before
    )
    rules = asked.rules
    if rules is None:
        rules, _ = rules_from_text(history.document(asked.piece_id, CLEAN_RULES))
    never = PlayedStretch()
    return PieceStanding(
        today=asked.today,
        performance=asked.performance,
        rules=rules,
        day_starts_at_hour=asked.day_starts_at_hour,
        sections=tuple(
            standing_from(
                one,
                played.get(one.stretch, never),
                asked.today,
                rules=rules,
                performance=asked.performance,
                day_starts_at_hour=asked.day_starts_at_hour,
            )
            for one in sections_asked(asked)
        ),
        takes_to_work_out=len(history.missing_stretches(asked.piece_id, asked.basis, stretches)),
    )


def sections_asked(asked: KnowingAsked) -> tuple[SectionAsked, ...]:
    """Name what a standing is made of: sections in the order of the map, then tasks."""
    section_map, score = asked.section_map, asked.score
    return tuple(
        SectionAsked(
            section_id=section.section_id,
            name=section.name,
            stretch=Stretch.of(section),
            target_quarters_per_minute=target_of(section, section_map, score),
        )
        for section in section_map.sections
    ) + tuple(
        SectionAsked(
            section_id=task.section_id,
            name=task.name,
            stretch=Stretch.of(task),
            target_quarters_per_minute=target_at(task.start, section_map, score),
            is_task=True,
        )
        for task in asked.tasks
    )
