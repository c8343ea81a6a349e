"""What the page shows of what is known, as plain values. No Qt here."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from companion.history.knowing.clean import Thresholds
from companion.history.knowing.order import OrderAnswer
from companion.history.knowing.standing import PieceStanding, SectionStanding

DAYS_SHOWN = 60
"""So many days up to today are drawn; what happened before is told in words."""

LEAST_DAYS_SHOWN = 14
RETURNS_SHOWN = 7
"""Returns later than so many days ahead are told in words only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnowingRow:
    """A section or task and how it stands; ``span`` are its measures as printed."""

    standing: SectionStanding
    span: str
    beat_quarters: Fraction
    beat_name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KnowingContent:
    """Everything that is shown of a piece.

    Parameters
    ----------
    rows
        Known longest first, then what has lapsed, what is being learnt, what was never played cold.
    answer
        Whether the hardest sections are those known longest; None while the workload is unknown.
    by_teacher
        Whether the order of the teacher counts as the order of hardness.
    """

    rows: tuple[KnowingRow, ...] = field(default=(), repr=False)
    standing: PieceStanding | None = None
    answer: OrderAnswer | None = None
    by_teacher: bool = False

    @property
    def rules(self) -> Thresholds:
        """The rules by which everything is judged."""
        return self.standing.rules if self.standing is not None else Thresholds()

    @property
    def today(self) -> date | None:
        """The practice day that is asked about."""
        return self.standing.today if self.standing is not None else None

    @property
    def any_cold_take(self) -> bool:
        """Whether anything was ever played cold."""
        return any(row.standing.cold_takes for row in self.rows)
