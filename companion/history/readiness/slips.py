"""How many slips a run will have: errors per written note, section by section.

A Gamma distribution over the rate of each section, whose mean is the rate of the piece: what a
section has shown counts by its notes, the rate of the piece as much as :data:`PIECE_COUNTS_NOTES`
notes (gamma-poisson model; project convention for the count). Slips in a run are counted like those
in takes: wrong, missed and added notes, a wrong key once.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from companion.history.readiness.evidence import WeighedTake

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

PIECE_COUNTS_NOTES = 60.0
USUAL_ERRORS_PER_100 = 4.0
"""Where nothing was played (our own guess); it counts as much as a section would."""

SINCE_THE_TAKES = 0.87
"""Slips are fewer than in the takes that are looked at, because practice went on: fitted on the
same simulated learners as the probability of a run."""

_DRAWS = 4000
_SEED = 20260303


def slips(takes: Sequence[Sequence[WeighedTake]], notes: Sequence[int]) -> NDArray[np.float64]:
    """Return draws of the expected slips, shape=(draws, sections).

    Parameters
    ----------
    notes
        Written notes of each section.
    """
    import numpy as np

    errors = np.array([sum(t.weight * t.errors for t in of) for of in takes])
    played = np.array([sum(t.weight * t.notes for t in of) for of in takes])
    of_piece = (errors.sum() + USUAL_ERRORS_PER_100 / 100.0 * PIECE_COUNTS_NOTES) / (
        played.sum() + PIECE_COUNTS_NOTES
    )
    shape = errors + of_piece * PIECE_COUNTS_NOTES
    rate = played + PIECE_COUNTS_NOTES
    generator = np.random.default_rng(_SEED)
    drawn = generator.gamma(np.maximum(shape, 1e-6), 1.0 / rate, size=(_DRAWS, len(takes)))
    expected: NDArray[np.float64] = SINCE_THE_TAKES * drawn * np.asarray(notes, dtype=float)
    return expected
