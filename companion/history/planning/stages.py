"""How far a section has come, and how much work it still is.

The stages are told from what was heard cold (:class:`Stage`); the bounds are project conventions.
How long learning takes no paper tells for a section of a piece: hours are a first guess from the
workload, and within a stage the time that was spent says how much of it is left.
"""

from __future__ import annotations

from enum import IntEnum

from companion.history.knowing.known import State
from companion.history.planning.situation import PlannedSection

NOTES_ERRORS_PER_100 = 6.0
"""Errors per 100 notes from which the notes are not learnt yet (project convention)."""

TEMPO_SHARE = 0.95
"""Share of the target tempo from which a section counts as up to tempo: that of a clean take."""

WORK_PER_HOUR = 180.0
"""Workload (level 1 to 5 times notes) that an hour takes until it is known; our own first guess."""

_SHORTEST_HOURS = 0.25


class Stage(IntEnum):
    """How far a section has come."""

    NEW = 0
    NOTES = 1
    TEMPO = 2
    SETTLING = 3
    KNOWN = 4

    @property
    def notes_learnt(self) -> bool:
        """Whether it can be played through, be it slowly."""
        return self >= Stage.TEMPO


_SHARE_LEFT = {
    Stage.NEW: (1.0, 1.0),
    Stage.NOTES: (0.45, 0.9),
    Stage.TEMPO: (0.2, 0.6),
    Stage.SETTLING: (0.06, 0.25),
    Stage.KNOWN: (0.0, 0.0),
}
"""Least and most share of the hours that is left in a stage (project convention)."""


def stage_of(section: PlannedSection) -> Stage:
    """Return how far a section has come."""
    if section.state is State.KNOWN:
        return Stage.KNOWN
    if section.last_played is None and not section.recent_clean:
        return Stage.NEW
    errors = section.errors_per_100
    if errors is None or not section.complete or errors > NOTES_ERRORS_PER_100:
        return Stage.NOTES
    if section.tempo_share is not None and section.tempo_share < TEMPO_SHARE:
        return Stage.TEMPO
    return Stage.SETTLING


def hours_left(section: PlannedSection) -> float:
    """Return the hours until a section is known; 0 when it is.

    The stage bounds the share that is left, the time that was spent tells where between the bounds.
    """
    least, most = _SHARE_LEFT[stage_of(section)]
    spent = section.practised_minutes / 60.0 / section.hours if section.hours > 0 else 0.0
    return section.hours * min(max(1.0 - spent, least), most)


def hours_of_work(work: float, pace: float = 1.0) -> float:
    """Return the estimated hours for the workload of a section.

    Parameters
    ----------
    work
        Level times notes, as in :class:`companion.analysis.workload.model.SectionWorkload`.
    pace
        Hours that practice really took for each estimated one, :func:`pace_of`.
    """
    return max(_SHORTEST_HOURS, work / WORK_PER_HOUR * pace)


def pace_of(taken: list[tuple[float, float]]) -> float:
    """Return how many hours an estimated hour really takes.

    Parameters
    ----------
    taken
        For each section that is known: estimated hours, and hours practised until it was known.

    Notes
    -----
    The estimate counts as much as two hours of experience (project convention), and the pace stays
    between a third and three, so that one odd section does not upset the calendar.
    """
    estimated = 2.0 + sum(hours for hours, _ in taken)
    practised = 2.0 + sum(hours for _, hours in taken)
    return min(3.0, max(1.0 / 3.0, practised / estimated))
