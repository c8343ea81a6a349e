"""How things stood this morning: what the plan of today is made from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from companion.analysis.tasks.model import Task
from companion.analysis.workload.model import Workload
from companion.history.days import DAY_STARTS_AT_HOUR
from companion.history.knowing.known import State
from companion.history.knowing.standing import SectionStanding
from companion.history.knowing.touched import Touched
from companion.history.planning.situation import (
    JoinStanding,
    PlannedSection,
    PlannedTask,
    Situation,
    neighbours,
    planned_section,
)
from companion.history.planning.stages import hours_of_work, pace_of
from companion.history.results import Stretch
from companion.practice.knowing import KnowingAsked, piece_standing
from companion.practice.planning.document import PlanChoices
from companion.practice.targets import target_of
from companion.score.model import Score
from companion.score.sections.section_map import Section, SectionMap
from companion.storage.history_file import HistoryFile

TEMPO_WITHOUT_ONE = 90.0
"""Quarters a minute by which playing time is estimated where no tempo is known (our own guess)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAsked:
    """What a plan is asked for.

    Parameters
    ----------
    basis
        What results stand on (:func:`companion.practice.basis.results_basis`).
    workload
        None while it is not worked out: the sections then come in the order of the piece.
    order
        Ids of the sections, the hardest first, as the pianist or the teacher wants them.
    """

    piece_id: str
    basis: str
    score: Score = field(repr=False)
    section_map: SectionMap = field(repr=False)
    today: date
    performance: date | None = None
    workload: Workload | None = field(default=None, repr=False)
    order: tuple[str, ...] = ()
    tasks: tuple[Task, ...] = ()
    choices: PlanChoices = field(default_factory=PlanChoices)
    discomfort: bool = False
    day_starts_at_hour: int = DAY_STARTS_AT_HOUR

    @property
    def sections(self) -> tuple[Section, ...]:
        """The sections of the finest division, in the order of the piece."""
        return self.section_map.leaves

    @property
    def stretches(self) -> tuple[Stretch, ...]:
        """What they cover."""
        return tuple(Stretch.of(section) for section in self.sections)

    def playing_seconds(self) -> tuple[float, ...]:
        """Of each section once through at its target."""
        return tuple(
            60.0
            * float(self.score.quarters_at(section.end) - self.score.quarters_at(section.start))
            / (self.target(section) or TEMPO_WITHOUT_ONE)
            for section in self.sections
        )

    def target(self, section: Section) -> float | None:
        """Quarters a minute that are aimed at; None without a target."""
        return target_of(section, self.section_map, self.score)


def touched_by_takes(history: HistoryFile, asked: PlanAsked) -> Touched:
    """Return which take touched which section of the finest division."""
    return history.touched_sections(
        asked.piece_id, asked.basis, asked.stretches, asked.day_starts_at_hour
    )


def situation_of(history: HistoryFile, asked: PlanAsked, touched: Touched) -> Situation:
    """Return how things stood before anything was played today."""
    morning = touched.before(asked.today)
    standings = piece_standing(
        history,
        KnowingAsked(
            piece_id=asked.piece_id,
            basis=asked.basis,
            score=asked.score,
            section_map=asked.section_map,
            today=asked.today,
            performance=asked.performance,
            day_starts_at_hour=asked.day_starts_at_hour,
            before=asked.today,
        ),
    )
    by_id = {standing.section_id: standing for standing in standings}
    sections = _sections(asked, [by_id[section.section_id] for section in asked.sections], morning)
    places = {section.section_id: place for place, section in enumerate(sections)}
    return Situation(
        today=asked.today,
        sections=sections,
        availability=asked.choices.availability,
        performance=asked.performance,
        first_day=morning.first_day,
        joins=tuple(
            JoinStanding(
                first_id=first,
                second_id=second,
                last_played=morning.last_joined(places[first], places[second]),
            )
            for first, second in neighbours(sections)
        ),
        last_run_through=morning.last_run_through,
        from_memory=asked.choices.from_memory,
        discomfort=asked.discomfort,
    )


def _sections(
    asked: PlanAsked, standings: Sequence[SectionStanding], morning: Touched
) -> tuple[PlannedSection, ...]:
    seconds = asked.playing_seconds()
    spent = morning.seconds_in(seconds)
    minutes = spent.sum(axis=0) / 60.0
    estimated = [_hours(asked, section) for section in asked.sections]
    days = np.asarray(morning.days)
    taken = []
    for place, standing in enumerate(standings):
        if standing.state is State.KNOWN and standing.known_since is not None:
            until = days <= standing.known_since.toordinal()
            taken.append((estimated[place], float(spent[until, place].sum()) / 3600.0))
    pace = pace_of(taken)
    ranks = _ranks(asked)
    return tuple(
        planned_section(
            standing,
            rank=ranks[section.section_id],
            hours=estimated[place] * pace,
            playing_seconds=seconds[place],
            practised_minutes=float(minutes[place]),
            beat_quarters=_beat_quarters(asked.score, section),
            tasks=tuple(
                PlannedTask(task_id=task.task_id, name=task.name, kind=task.kind, hand=task.hand)
                for task in asked.tasks
                if section.contains(task.start)
            ),
        )
        for place, (section, standing) in enumerate(zip(asked.sections, standings, strict=True))
    )


def _ranks(asked: PlanAsked) -> dict[str, int]:
    """1 for the hardest; sections that nobody ranked come behind, in the order of the piece."""
    ids = [section.section_id for section in asked.sections]
    ranked = [section_id for section_id in asked.order if section_id in set(ids)]
    ranked += [section_id for section_id in ids if section_id not in set(ranked)]
    return {section_id: rank for rank, section_id in enumerate(ranked, 1)}


def _hours(asked: PlanAsked, section: Section) -> float:
    if asked.workload is not None:
        for each in asked.workload.sections:
            if each.section_id == section.section_id:
                return hours_of_work(each.work)
    start, end = asked.score.quarters_at(section.start), asked.score.quarters_at(section.end)
    notes = sum(start <= note.onset_quarters < end for note in asked.score.notes)
    return hours_of_work(float(_MIDDLE_LEVEL * notes))


_MIDDLE_LEVEL = 3.0


def _beat_quarters(score: Score, section: Section) -> float:
    index = min(section.start.measure_index, len(score.measures) - 1)
    return float(score.measures[index].beat_quarters)
