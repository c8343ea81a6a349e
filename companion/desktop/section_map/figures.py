"""What the lanes of the map show, as plain values.

The map is given these and asks nobody: whoever computes section results fills them in.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from companion.desktop.section_map.depth_lane import DepthLane

# A clean take has at most 2 errors in 100 notes (see the measures in the help); below nine right
# notes in ten, more is wrong than a correction in passing mends (our own choice).
WELL_FROM_ACCURACY = 0.98
WRONG_BELOW_ACCURACY = 0.90
# Running tempo of a clean take: at least 95 % of the target.
WELL_FROM_TEMPO_SHARE = 0.95
WRONG_BELOW_TEMPO_SHARE = 0.75


class Standing(StrEnum):
    """How a figure stands; the drawing gives each its own colour and its own pattern."""

    WELL = "well"
    ATTENTION = "attention"
    WRONG = "wrong"


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionFigures:
    """The newest figures of one section.

    Parameters
    ----------
    accuracy, takes_of_day
        F1 of right notes, 0 to 1, the median of the last day, and how many takes that day had.
    running_quarters_per_minute, target_quarters_per_minute
        None while unknown.
    takes
        Number of takes that touched the section.
    last_played
        Local day of the last of them.
    """

    section_id: str
    takes: int = 0
    last_played: date | None = None
    accuracy: float | None = None
    takes_of_day: int = 0
    running_quarters_per_minute: float | None = None
    target_quarters_per_minute: float | None = None

    @property
    def tempo_share(self) -> float | None:
        """Running tempo as a share of the target."""
        if not self.running_quarters_per_minute or not self.target_quarters_per_minute:
            return None
        return self.running_quarters_per_minute / self.target_quarters_per_minute


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureFigures:
    """Errors in one measure over the takes that are counted: ``errors`` in ``expected`` notes."""

    measure_index: int
    errors: int
    expected: int

    @property
    def error_share(self) -> float:
        """Errors per expected note, 0 to 1."""
        return min(1.0, self.errors / self.expected) if self.expected else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkFigures:
    """Where a section stands among those beside it: 1 is the hardest.

    Parameters
    ----------
    level
        1 to 5 within the piece.
    of
        How many sections are ranked.
    words
        What makes it hard.
    """

    section_id: str
    rank: int
    of: int
    level: float
    words: str
    corrected: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyFigures:
    """A stretch in one key.

    ``start_measure`` and ``end_measure`` are indices with the share of the measure that is gone,
    ``short`` is its short name ("e"), ``spoken`` the whole one ("E minor").
    """

    start_measure: float
    end_measure: float
    short: str
    spoken: str


@dataclass(frozen=True, kw_only=True)
class MapFigures:
    """Everything that the lanes show; ``takes_to_work_out`` takes have no figures yet.

    ``depth`` is None before anything was played cold.
    """

    sections: tuple[SectionFigures, ...] = ()
    measures: tuple[MeasureFigures, ...] = ()
    today: date | None = None
    takes_to_work_out: int = 0
    work: tuple[WorkFigures, ...] = ()
    keys: tuple[KeyFigures, ...] = ()
    depth: DepthLane | None = None

    def work_of(self, section_id: str) -> WorkFigures | None:
        """How hard a section is; None while that is not known."""
        return self._work_by_id.get(section_id)

    def key_at(self, measure_index: int) -> KeyFigures | None:
        """The key in which a measure begins; None while that is not known."""
        return next(
            (each for each in self.keys if each.start_measure <= measure_index < each.end_measure),
            None,
        )

    def of_section(self, section_id: str) -> SectionFigures:
        """Figures of a section, empty ones when it was never played."""
        return self._by_id.get(section_id) or SectionFigures(section_id=section_id)

    @cached_property
    def _by_id(self) -> dict[str, SectionFigures]:
        return {figures.section_id: figures for figures in self.sections}

    @cached_property
    def _work_by_id(self) -> dict[str, WorkFigures]:
        return {work.section_id: work for work in self.work}

    @property
    def any_take(self) -> bool:
        """True once anything was played."""
        return any(figures.takes for figures in self.sections)


def standing_of_accuracy(accuracy: float) -> Standing:
    """Where an accuracy stands against the threshold of a clean take."""
    if accuracy >= WELL_FROM_ACCURACY:
        return Standing.WELL
    return Standing.WRONG if accuracy < WRONG_BELOW_ACCURACY else Standing.ATTENTION


def standing_of_tempo(share: float) -> Standing:
    """Where a share of the target tempo stands."""
    if share >= WELL_FROM_TEMPO_SHARE:
        return Standing.WELL
    return Standing.WRONG if share < WRONG_BELOW_TEMPO_SHARE else Standing.ATTENTION
