"""What the time between notes says: one chord or a step on, a step in the tempo or out of it.

Two notes struck together are keys of one chord, two struck apart are not. A step from onset to
onset in the tempo of the steps before speaks for a place, a step out of it against it. Tempi are
natural logarithms of seconds per quarter.
"""

from __future__ import annotations

import math
from collections import deque
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

TOGETHER_SECONDS = 0.03
APART_SECONDS = 0.15
"""Keys struck nearer than the first are a chord, keys further apart than the second are not, most
of the time: 95 in 100 chords of professionals lie within 69 ms (Vienna 4x22)."""

AT_ONCE_SECONDS = 0.05

WRONG_TIME_COST = 2.0

IN_TIME_GAIN = 1.2
STEADY_GAIN = 0.25
OUT_OF_TIME_COST = 1.2
STEADY = 0.2
"""What a step in time earns and a step out of it costs. It speaks little when it is as long as the
step before (log of the ratio within ``STEADY``): most steps in any music are."""

TEMPO_SPREAD = 0.25
"""Standard deviation of the log of the tempo from one step to the next."""

TEMPO_FOLLOWS = 0.5
MOST_TEMPO_CHANGE = 0.3
"""How far the tempo follows each step, and how far at most."""

SHORTEST_STEP_SECONDS = 0.02
SHORTEST_STEP_QUARTERS = 1e-3


class HeardTimes:
    """When the notes of a take were heard; the notes are counted from 1.

    ``count`` is the number of the last note, ``in_time_gain`` how much it would say for a place
    that this note came in time there.
    """

    def __init__(self) -> None:
        self.forget()

    def forget(self) -> None:
        """Nothing was heard yet."""
        self.count = 0
        self.in_time_gain = IN_TIME_GAIN
        self._seconds = np.zeros(1024)  # by number of the note
        self._onset_seconds: deque[float] = deque(maxlen=3)

    def hear(self, seconds: float) -> None:
        """Take the time of the next note."""
        self.count += 1
        if self.count == len(self._seconds):
            self._seconds = np.append(self._seconds, np.zeros(len(self._seconds)))
        self._seconds[self.count] = seconds
        self._hear_rhythm(seconds)

    @property
    def gap_seconds(self) -> float:
        """Time since the note before; without end for the first one."""
        if self.count < 2:
            return math.inf
        return float(self._seconds[self.count] - self._seconds[self.count - 1])

    def seconds_since(self, numbers: NDArray[np.int32]) -> NDArray[np.float64]:
        """Time from the notes of these numbers to the last one."""
        return np.asarray(self._seconds[self.count] - self._seconds[numbers])

    def _hear_rhythm(self, seconds: float) -> None:
        onsets = self._onset_seconds
        if onsets and seconds - onsets[-1] < AT_ONCE_SECONDS:
            return  # the same chord: its first note has told
        onsets.append(seconds)
        self.in_time_gain = IN_TIME_GAIN
        if len(onsets) == 3:
            change = math.log((onsets[2] - onsets[1]) / (onsets[1] - onsets[0]))
            if abs(change) < STEADY:
                self.in_time_gain = STEADY_GAIN


def costs_by_gap(gap_seconds: float) -> tuple[float, float]:
    """Costs of staying at an onset and of going on, by the time since the note before."""
    apart = (gap_seconds - TOGETHER_SECONDS) / (APART_SECONDS - TOGETHER_SECONDS)
    apart = min(1.0, max(0.0, apart))
    return WRONG_TIME_COST * apart, WRONG_TIME_COST * max(0.0, 1.0 - 2.0 * apart)


def weigh_steps(
    seconds: NDArray[np.float64],
    quarters: NDArray[np.float32],
    tempo: NDArray[np.float32],
    tempo_known: NDArray[np.bool_],
    in_time_gain: float,
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Weigh steps by the tempo they were played in.

    Parameters
    ----------
    seconds, quarters
        How long each step took, and how long it is written.
    tempo, tempo_known
        The tempo before each step, and whether there was one.
    in_time_gain
        What a step in time earns.

    Returns
    -------
    tuple
        What each step earns (0 without a tempo before it), and the tempo after it.
    """
    step = np.maximum(quarters, SHORTEST_STEP_QUARTERS)
    now = np.log(np.maximum(seconds, SHORTEST_STEP_SECONDS) / step).astype(np.float32)
    change = np.where(tempo_known, now - tempo, np.float32(0.0))
    against = np.minimum((change / TEMPO_SPREAD) ** 2 / 2, in_time_gain + OUT_OF_TIME_COST)
    earned = np.where(tempo_known, np.float32(in_time_gain) - against, np.float32(0.0))
    follows = np.minimum(np.maximum(TEMPO_FOLLOWS * change, -MOST_TEMPO_CHANGE), MOST_TEMPO_CHANGE)
    return earned, now - change + follows
