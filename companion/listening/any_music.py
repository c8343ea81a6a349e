"""How likely a next key is in any music at all: what the recogniser weighs a piece against.

A note speaks for a piece only as far as it would surprise somebody who does not know the piece. A
step on in a scale, a figure that comes again or a trill surprises nobody, so scales and exercises
speak for no piece, while the turn of a melody does.

Several simple guessers foresee the next key; each is trusted as far as it was right lately (a
Bayesian mixture with a fixed share for all, Herbster & Warmuth 1998, from memory).
"""

from __future__ import annotations

import math
from collections import deque

REMEMBERED_NOTES = 24
"""How far back the range of the playing is judged by."""

LAGS = 4
"""The next key is foreseen from each of this many last ones: hands and voices alternate."""

SHARED_TRUST = 0.04
"""Share of the trust that is dealt out anew with each note."""

_EVERY_KEY = 1.0 / 88.0

# Probability of an interval in semitones, regardless of direction: steps before thirds before
# fourths and fifths, and octaves; rounded from counts over keyboard music and string quartets.
_BY_SIZE = (0.10, 0.10, 0.16, 0.10, 0.09, 0.08, 0.025, 0.07, 0.04, 0.045, 0.025, 0.015, 0.06)
_BEYOND = 0.09


def _interval(semitones: int) -> float:
    """Probability of a signed interval."""
    size = abs(semitones)
    if size == 0:
        return _BY_SIZE[0]
    if size <= 12:
        return 0.5 * _BY_SIZE[size]
    return 0.5 * _BEYOND * (0.12 * 0.88 ** (size - 13))


def _degrees(semitones: int) -> int:
    """An interval counted in steps of a scale, so that a figure may move through a key."""
    size = abs(semitones)
    octaves, rest = divmod(size, 12)
    steps = 7 * octaves + (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)[rest]
    return steps if semitones >= 0 else -steps


class AnyMusic:
    """Foresees each next key from the ones before."""

    def __init__(self) -> None:
        self.forget()

    def forget(self) -> None:
        """Nothing was heard yet."""
        self._recent: deque[int] = deque(maxlen=REMEMBERED_NOTES)
        self._sum = 0
        self._followed_keys: dict[tuple[int, int], int] = {}
        self._followed_steps: dict[tuple[int, int], int] = {}
        self._trust = [0.25, 0.45, 0.1, 0.1, 0.1]

    def hear(self, pitch: int) -> float:
        """Take the next key and say how likely it was, as a natural logarithm."""
        guesses = self._guesses(pitch)
        likelihood = sum(t * g for t, g in zip(self._trust, guesses, strict=True))
        fresh = SHARED_TRUST / len(guesses)
        self._trust = [
            fresh + (1.0 - SHARED_TRUST) * t * g / likelihood
            for t, g in zip(self._trust, guesses, strict=True)
        ]
        self._remember(pitch)
        return math.log(likelihood)

    def _guesses(self, pitch: int) -> tuple[float, ...]:
        recent = self._recent
        if not recent:
            return (_EVERY_KEY,) * 5
        centre = sum(recent) / len(recent)
        bell = math.exp(-0.5 * ((pitch - centre) / 11.0) ** 2) / (11.0 * math.sqrt(2 * math.pi))
        in_range = 0.4 * _EVERY_KEY + 0.6 * bell
        lags = min(LAGS, len(recent))
        near = sum(_interval(pitch - recent[-1 - k]) for k in range(lags)) / lags
        if len(recent) < 3:
            return (in_range, near, near, near, near)
        last = recent[-1] - recent[-2]
        if 1 <= abs(last) <= 2:
            onward = (pitch - recent[-1]) * (1 if last > 0 else -1)
            scale = 0.44 if 1 <= onward <= 2 else 0.12 * near
        else:
            scale = near
        foreseen = self._followed_keys.get((recent[-2], recent[-1]))
        again = near if foreseen is None else 0.9 if foreseen == pitch else 0.1 * near
        steps = self._followed_steps.get(
            (_degrees(recent[-2] - recent[-3]), _degrees(recent[-1] - recent[-2]))
        )
        if steps is None:
            figure = near
        elif steps == _degrees(pitch - recent[-1]):
            figure = 0.45
        else:
            figure = 0.1 * near
        return (in_range, near, scale, again, figure)

    def _remember(self, pitch: int) -> None:
        recent = self._recent
        if len(recent) >= 2:
            self._followed_keys[recent[-2], recent[-1]] = pitch
        if len(recent) >= 3:
            figure = (_degrees(recent[-2] - recent[-3]), _degrees(recent[-1] - recent[-2]))
            self._followed_steps[figure] = _degrees(pitch - recent[-1])
        recent.append(pitch)
