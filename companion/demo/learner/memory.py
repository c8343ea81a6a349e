"""How what was practised is kept: activation that grows with practice and fades with time.

The law is that of Pavlik & Anderson 2005 (Cognitive Science 29:559-586):

- activation m = ln( sum_i w_i t_i^(-d_i) ) over all earlier encounters, t_i seconds ago: a power
  law of practice (Newell & Rosenbloom 1981) with power-law forgetting (Wixted & Ebbesen 1991);
- what an encounter leaves fades the faster the more active the material was at that moment:
  d_i = c exp(m_i) + a. From this alone follows that spaced practice holds longer than massed;
- recall succeeds with probability 1 / (1 + exp((tau - m) / s));
- time between sessions counts only a share h of time within a session.

The formulas were read again in a second source; the values of a, c, tau, s and h are those of the
paper's first experiment **from memory**. They were fitted to vocabulary, not to playing: what is
compared here are plans under one law, not a pianist.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

import numpy as np
from numpy.typing import NDArray

DECAY_INTERCEPT = 0.177
DECAY_SCALE = 0.217
THRESHOLD = -0.704
NOISE = 0.255
BETWEEN_SESSIONS = 0.025
"""a, c, tau, s and h (from memory)."""

SECONDS_OF_A_DAY = 86_400.0
_SHORTEST_AGE_SECONDS = 1.0
_FASTEST_DECAY = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class MemoryLaw:
    """The parameters of one person."""

    decay_intercept: float = DECAY_INTERCEPT
    decay_scale: float = DECAY_SCALE
    threshold: float = THRESHOLD
    noise: float = NOISE
    between_sessions: float = BETWEEN_SESSIONS


class Trace:
    """What was encountered of one thing (a section, a border between two), and when.

    Moments are seconds on the learner's own clock, which runs slower between sessions.
    """

    def __init__(self, law: MemoryLaw) -> None:
        self._law = law
        self._moments: NDArray[np.float64] = np.empty(64)
        self._decays: NDArray[np.float64] = np.empty(64)
        self._weights: NDArray[np.float64] = np.empty(64)
        self.count = 0

    def activation(self, now: float) -> float:
        """How active it is at a moment: minus infinity before the first encounter."""
        if not self.count:
            return float("-inf")
        ages = np.maximum(now - self._moments[: self.count], _SHORTEST_AGE_SECONDS)
        kept = np.exp(-self._decays[: self.count] * np.log(ages))
        return log(float(kept @ self._weights[: self.count]))

    def encounter(self, now: float, weight: float = 1.0) -> None:
        """Practise it once; ``weight`` below 1 for work that leaves less behind."""
        active = exp(min(self.activation(now), 5.0)) if self.count else 0.0
        decay = self._law.decay_scale * active + self._law.decay_intercept
        if self.count == len(self._moments):
            self._moments = np.concatenate([self._moments, np.empty(self.count)])
            self._decays = np.concatenate([self._decays, np.empty(self.count)])
            self._weights = np.concatenate([self._weights, np.empty(self.count)])
        self._moments[self.count] = now
        self._decays[self.count] = min(decay, _FASTEST_DECAY)
        self._weights[self.count] = weight
        self.count += 1
