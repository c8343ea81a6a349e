"""The workload of a piece as plain frozen values."""

from __future__ import annotations

from dataclasses import dataclass, field

from companion.analysis.workload.features import StretchFeatures
from companion.analysis.workload.shares import Shares


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureWorkload:
    """How hard one measure is; ``right`` and ``left`` what each hand has of it alone."""

    measure_index: int
    difficulty: float
    right: float
    left: float
    notes: int
    shares: Shares = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionWorkload:
    """How hard a section is, how much work it is, and why.

    Parameters
    ----------
    difficulty
        In units of a clear difference; 0 would be nothing at all.
    level
        1 to 5 within the piece.
    work
        Level times the notes to be learnt: to compare sections of one piece.
    rank
        1 for the hardest of the sections beside it (those of the finest division among
        themselves, the sections that hold others among those of their level).
    reasons
        What sets it apart from the piece as a whole, the strongest first.
    corrected
        Whether practice has had its say.
    """

    section_id: str
    difficulty: float
    level: float
    work: float
    rank: int
    reasons: tuple[str, ...]
    features: StretchFeatures = field(repr=False)
    shares: Shares = field(repr=False)
    corrected: bool = False

    @property
    def in_words(self) -> str:
        """The reasons in one phrase."""
        return ", ".join(self.reasons) or "much like the rest of the piece"


@dataclass(frozen=True, slots=True, kw_only=True)
class Workload:
    """The workload of a piece: measures in order, sections in the order of the map."""

    measures: tuple[MeasureWorkload, ...]
    sections: tuple[SectionWorkload, ...]
    piece: StretchFeatures | None = field(default=None, repr=False)

    def section(self, section_id: str) -> SectionWorkload:
        """The workload of one section; raises ``KeyError`` where there is none."""
        for section in self.sections:
            if section.section_id == section_id:
                return section
        raise KeyError(section_id)
