"""A piece as a simulated learner meets it: sections with a true difficulty that no plan sees.

All figures are invented for the simulation. What a plan is told of the difficulty is an estimate
whose correlation with the true one is about :data:`ESTIMATE_CORRELATION`: published estimates of
difficulty from scores explain less than half of it (Chiu & Chen 2012, doi:10.1109/ISM.2012.11).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from random import Random

ESTIMATE_CORRELATION = 0.65
NOTES_PER_CHUNK = 30
"""Notes that are called up as one (about two measures): each may fail."""

TARGET_QUARTERS_PER_MINUTE = 96.0
SECTION_COUNTS = (6, 10)


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnerSection:
    """A section of the piece.

    Parameters
    ----------
    difficulty
        True difficulty, standard deviation 1 over sections; 0 is middling.
    estimated
        What an analysis of the score would make of it, on the same scale.
    """

    section_id: str
    name: str
    notes: int
    playing_seconds: float
    difficulty: float
    estimated: float

    @property
    def chunks(self) -> int:
        """How many things must be called up to come through."""
        return max(1, round(self.notes / NOTES_PER_CHUNK))


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnerPiece:
    """The sections in the order of the piece."""

    sections: tuple[LearnerSection, ...]

    @property
    def estimated_ranks(self) -> dict[str, int]:
        """Ranks by the estimate, 1 for the hardest."""
        ordered = sorted(self.sections, key=lambda section: -section.estimated)
        return {section.section_id: rank for rank, section in enumerate(ordered, 1)}


def draw_piece(random: Random, section_counts: tuple[int, int] = SECTION_COUNTS) -> LearnerPiece:
    """Draw a piece of so many sections at least and at most."""
    sections = []
    for number in range(random.randint(*section_counts)):
        difficulty = random.gauss(0.0, 1.0)
        noise = random.gauss(0.0, 1.0)
        estimated = ESTIMATE_CORRELATION * difficulty + sqrt(1 - ESTIMATE_CORRELATION**2) * noise
        notes = random.randint(80, 220)
        sections.append(
            LearnerSection(
                section_id=f"section {number}",
                name=f"{number + 1}",
                notes=notes,
                playing_seconds=notes / random.uniform(4.0, 6.5),
                difficulty=difficulty,
                estimated=estimated,
            )
        )
    return LearnerPiece(sections=tuple(sections))
