"""What was worked out from a take, as plain frozen values: rows of the history.

Conventions
-----------
- A row of :class:`SectionResult` is one take in one stretch of the score with one choice of hands.
- Shares are 0 to 1, tempi quarters per minute, spreads ms; None means that it cannot be told (no
  run of equal notes, no chord, too few beats), never zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import datetime
from fractions import Fraction
from operator import attrgetter

from companion.history.knowing.attempts import Attempt
from companion.history.model import Take
from companion.listening.measuring.take_measures import MeasureErrors, SectionMeasures
from companion.listening.notes import Hands, Match
from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap


@dataclass(frozen=True, slots=True, order=True)
class Stretch:
    """A half-open stretch of the written score: the key of results."""

    start: Position
    end: Position

    def __hash__(self) -> int:
        # Thousands of rows are grouped by stretch, and the hash of a Fraction is slow.
        start, end = self.start, self.end
        return hash(
            (
                start.measure_index,
                end.measure_index,
                start.offset_quarters.as_integer_ratio(),
                end.offset_quarters.as_integer_ratio(),
            )
        )

    @classmethod
    def of(cls, section: Section) -> Stretch:
        """The stretch that a section covers now."""
        return cls(section.start, section.end)

    @property
    def key(self) -> str:
        """The stretch as text, "0+0:8+3/2": measure index and offset of both ends."""
        return f"{_written(self.start)}:{_written(self.end)}"

    @classmethod
    def from_key(cls, key: str) -> Stretch:
        """Inverse of :attr:`key`; raises ``ValueError`` for other text."""
        start, end = key.split(":")
        return cls(_read(start), _read(end))


def _written(position: Position) -> str:
    return f"{position.measure_index}+{position.offset_quarters}"


def _read(text: str) -> Position:
    measure_index, offset = text.split("+")
    return Position(int(measure_index), Fraction(offset))


def stretches_of(section_map: SectionMap) -> tuple[Stretch, ...]:
    """All different stretches of a map in rising order."""
    return tuple(sorted({Stretch.of(section) for section in section_map.sections}))


@dataclass(frozen=True, slots=True)
class SectionGlance:
    """The few figures of a :class:`SectionResult` that the section map is drawn from."""

    take_id: str
    stretch: Stretch
    started_at: datetime
    zone: str
    hands: Hands
    complete: bool
    accuracy: float | None
    running_tempo_quarters_per_minute: float | None
    stops: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionResult:
    """How one take went in one stretch of the score: what the history keeps of its measures.

    The figures are those of :class:`companion.listening.measuring.take_measures.SectionMeasures`,
    over all passages with these hands. ``started_at`` and ``zone`` are those of the take.
    """

    take_id: str
    stretch: Stretch
    started_at: datetime
    zone: str
    hands: Hands
    passages: int
    coverage: float
    complete: bool
    expected: int
    right: int
    wrong: int
    missed: int
    added: int
    ornament: int
    accuracy: float | None
    running_tempo_quarters_per_minute: float | None
    through_tempo_quarters_per_minute: float | None
    steadiness: float | None
    evenness_sd_ms: float | None
    evenness_cv: float | None
    hesitations: int
    stops: int
    restarts: int
    jumps: int
    chord_spread_ms: float | None
    melody_lead_ms: float | None
    left_right_offset_ms: float | None
    velocity_p5: float | None
    velocity_p95: float | None
    hand_balance: float | None
    damper_share: float | None
    edge_errors: int


FIGURES = tuple(
    field.name
    for field in fields(SectionResult)
    if field.name not in {"take_id", "stretch", "started_at", "zone", "hands"}
)
"""Names of the figures of a row, in order: columns of tables and of exports."""

_figures_of = attrgetter(*FIGURES)


def section_result(take: Take, stretch: Stretch, measures: SectionMeasures) -> SectionResult:
    """Return the row of one take in one stretch."""
    return SectionResult(
        take_id=take.take_id,
        stretch=stretch,
        started_at=take.started_at,
        zone=take.zone,
        hands=measures.hands,
        **dict(zip(FIGURES, _figures_of(measures), strict=True)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeResults:
    """Everything that was worked out from one take.

    ``stretches`` are those that were looked at, also where nothing of them was played; ``attempts``
    says how the take came through those that it touched for the first time. ``match`` is
    None when only further stretches were worked out from a stored match; ``measures`` are then left
    out too.
    """

    take_id: str
    basis: str
    stretches: tuple[Stretch, ...]
    sections: tuple[SectionResult, ...]
    measures: tuple[MeasureErrors, ...] = ()
    match: Match | None = field(default=None, repr=False)
    attempts: Mapping[Stretch, Attempt] = field(default_factory=dict, repr=False)
