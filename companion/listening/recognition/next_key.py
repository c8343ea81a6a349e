"""A small network that foresees the next key from the ones before, in any key and register.

It is asked how likely the key was that came, given the last keys and the time between them: notes
of one chord follow each other by other intervals than notes of a melody. Everything is counted
from the last key, so that transposed music is foreseen alike but for the register.

How it was made, from what and under which licence is told in ``resources/recognition/README.md``.
One hidden layer; the input is sparse, so that a note costs some hundredths of a millisecond.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import deque
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from companion.resources import resource_path

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

MODEL_FILE = "next_key.npz"

REACH = 36
"""Keys further than three octaves from the last one are told apart no more."""

FARTHER = 2 * REACH + 1
CLASSES = 2 * REACH + 2

LAGS = 6
REMEMBERED = 16
FADES = 0.88
"""A key counts this much less with each note since."""

GAP_BORDERS_SECONDS = (0.015, 0.035, 0.07, 0.12, 0.2, 0.35, 0.7, 1.5)
GAPS = 4
REGISTERS = 12

_SET = LAGS * CLASSES
_NAMES = _SET + 2 * REACH + 1
_REGISTER = _NAMES + 12
_GAP = _REGISTER + REGISTERS
_KINDS_OF_GAP = len(GAP_BORDERS_SECONDS) + 1
INPUTS = _GAP + GAPS * _KINDS_OF_GAP

_KEYS_FARTHER = 30
"""Among how many keys the probability of "farther" is shared, about."""

_ANYTHING = 0.03 / 88.0


@dataclass(frozen=True)
class NextKeyModel:
    """The weights: ``hidden = max(0, x @ into + into_bias)``, then a softmax over the intervals."""

    into: NDArray[np.float32]
    into_bias: NDArray[np.float32]
    out: NDArray[np.float32]
    out_bias: NDArray[np.float32]


@cache
def next_key_model() -> NextKeyModel:
    """Load the weights that travel with the program."""
    with np.load(resource_path("recognition", MODEL_FILE), allow_pickle=False) as stored:
        return NextKeyModel(
            **{
                name: stored[name].astype(np.float32)
                for name in ("into", "into_bias", "out", "out_bias")
            }
        )


def inputs(keys: Sequence[int], gaps_seconds: Sequence[float]) -> tuple[list[int], list[float]]:
    """Places and weights of the inputs that are not zero.

    Parameters
    ----------
    keys
        The keys heard so far, the latest last; at least one.
    gaps_seconds
        Time from each key to the next, the last one up to the key that is to be foreseen.
    """
    last = keys[-1]
    places: list[int] = []
    weights: list[float] = []
    count = len(keys)
    for lag in range(LAGS):
        at = count - 2 - lag
        away = FARTHER if at < 0 else min(max(keys[at] - last, -REACH), REACH) + REACH
        places.append(lag * CLASSES + away)
        weights.append(1.0)
    near: dict[int, float] = {}
    names: dict[int, float] = {}
    weight = 1.0
    for at in range(count - 1, max(-1, count - 1 - REMEMBERED), -1):
        away = keys[at] - last
        if -REACH <= away <= REACH:
            near.setdefault(_SET + away + REACH, weight)
        names.setdefault(_NAMES + away % 12, weight)
        weight *= FADES
    places += [*near, *names, _REGISTER + min(REGISTERS - 1, last // 10)]
    weights += [*near.values(), *names.values(), 1.0]
    for back in range(min(GAPS, len(gaps_seconds))):
        kind = bisect_left(GAP_BORDERS_SECONDS, gaps_seconds[-1 - back])
        places.append(_GAP + back * _KINDS_OF_GAP + kind)
        weights.append(1.0)
    return places, weights


def interval_class(last: int, key: int) -> int:
    """Which output stands for a key after ``last``."""
    away = key - last
    return away + REACH if -REACH <= away <= REACH else FARTHER


class NextKey:
    """Hears one key after the other and says how likely each was."""

    def __init__(self, model: NextKeyModel | None = None) -> None:
        self._model = model or next_key_model()
        self.forget()

    def forget(self) -> None:
        """Nothing was heard yet."""
        self._keys: deque[int] = deque(maxlen=REMEMBERED + 1)
        self._gaps: deque[float] = deque(maxlen=GAPS)
        self._seconds = 0.0

    def hear(self, pitch: int, seconds: float) -> float:
        """Take the next key, struck at ``seconds``; how likely it was, 0 to 1."""
        likely = 1.0 / 88.0
        if self._keys:
            self._gaps.append(seconds - self._seconds)
            likely = self._likely(pitch)
        self._keys.append(pitch)
        self._seconds = seconds
        return likely

    def _likely(self, pitch: int) -> float:
        model = self._model
        places, weights = inputs(self._keys, self._gaps)
        hidden = np.array(weights, np.float32) @ model.into[places]
        hidden += model.into_bias
        np.maximum(hidden, 0.0, out=hidden)
        levels = hidden @ model.out
        levels += model.out_bias
        chances = np.exp(levels - levels.max())
        meant = interval_class(self._keys[-1], pitch)
        share = float(chances[meant] / chances.sum())
        return 0.97 * share / (_KEYS_FARTHER if meant == FARTHER else 1) + _ANYTHING
