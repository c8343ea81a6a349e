"""When each written note of a pass was due: a map from the score to the clock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

USUAL_SECONDS_PER_QUARTER = 0.6
FASTEST, SLOWEST = 0.1, 3.0
"""Seconds per quarter: of a pass with a single onset, and the limits of all others."""

REACH_SECONDS = 0.25
REACH_QUARTERS = 0.5
"""A played note may lie this far from the written one it stands for: the sum of both."""


@dataclass(frozen=True, slots=True)
class Clock:
    """Straight lines through the times of some onsets, drawn on at both ends at the usual pace.

    Parameters
    ----------
    quarters, seconds
        Written onset and time of each corner.
    pace
        Seconds per quarter before the first corner and behind the last.
    """

    quarters: NDArray[np.float64]
    seconds: NDArray[np.float64]
    pace: float

    def seconds_at(self, quarters: NDArray[np.float64]) -> NDArray[np.float64]:
        """When some written onsets were due."""
        inside = np.interp(quarters, self.quarters, self.seconds)
        before = np.minimum(quarters - self.quarters[0], 0.0)
        behind = np.maximum(quarters - self.quarters[-1], 0.0)
        seconds: NDArray[np.float64] = inside + (before + behind) * self.pace
        return seconds

    def seconds_per_quarter_at(self, quarters: NDArray[np.float64]) -> NDArray[np.float64]:
        """Local tempo, over the quarter around each place."""
        around = self.seconds_at(quarters + 0.5) - self.seconds_at(quarters - 0.5)
        return around.clip(FASTEST, SLOWEST)


@dataclass(frozen=True, slots=True)
class Due:
    """When each written note of a pass was due, how far off it may come, and the tempo there."""

    seconds: NDArray[np.float64]
    reach: NDArray[np.float64]
    seconds_per_quarter: NDArray[np.float64]

    @staticmethod
    def of(clock: Clock, quarters: NDArray[np.float64]) -> Due:
        """Read a clock at some written onsets."""
        pace = clock.seconds_per_quarter_at(quarters)
        return Due(clock.seconds_at(quarters), REACH_SECONDS + REACH_QUARTERS * pace, pace)


def draw_clock(quarters: NDArray[np.float64], seconds: NDArray[np.float64]) -> Clock:
    """The clock of notes that are surely right: the median time of each onset, made to rise."""
    order = np.lexsort((seconds, quarters))
    quarters, seconds = quarters[order], seconds[order]
    onsets, first, count = np.unique(quarters, return_index=True, return_counts=True)
    middle = (seconds[first + (count - 1) // 2] + seconds[first + count // 2]) / 2
    middle = np.maximum.accumulate(middle)
    pace = USUAL_SECONDS_PER_QUARTER
    if len(onsets) > 1:
        pace = float(np.median(np.diff(middle) / np.diff(onsets)))
    return Clock(onsets, middle, min(SLOWEST, max(FASTEST, pace)))
