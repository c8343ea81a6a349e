"""Wrong keys: which left-over played note stands for which left-over written one.

Each pair is weighed against its parts, with the decoder's costs (nats): that the played key was
added and the written one missed. A key is likelier a slip the nearer it is to the meant one and to
the time it was due. A key struck together with a right one beside it, and softer than the notes
around, was likelier brushed. Pairs are taken in the order of what they save.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import SUBSTITUTION, SUBSTITUTION_ELSE, Costs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.matching.clock import Due

LONGEST_SLIP = 5
"""Semitones by which a finger slips at most, octaves apart."""
OFF_TIME = 4.0
"""Cost of half the reach between a note and the time at which it was due."""
SURE = 0.5
"""Right keys further off than this share of the reach are weighed against slips."""
FARTHEST_SECONDS = 1.75
"""Half the reach at the slowest tempo is less."""

BRUSH_SEMITONES = 2
BRUSH_SECONDS = 0.05
BRUSHED_LOUDNESS = 0.57
LOUDNESS_SPREAD = 0.25
"""A brushed key lies so near a right one, and is so loud beside the notes around it (logarithm of
the ratio spread by as much as that of keys that were meant)."""
SOFTEST, LOUDEST = 0.3, 1.0
"""Between these loudness tells something."""
NEIGHBOURS = 7
"""Notes on each side with which loudness is compared."""


@dataclass(frozen=True, slots=True)
class Played:
    """The played notes of a pass."""

    seconds: NDArray[np.float64]
    pitch: NDArray[np.int64]
    velocity: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Written:
    """The written notes of a pass."""

    quarters: NDArray[np.float64]
    pitch: NDArray[np.int64]

    def keys(self) -> NDArray[np.int64]:
        """One number per onset and key: equal for the notes of a unison."""
        keys: NDArray[np.int64] = np.round(self.quarters * 1e4).astype(np.int64) * 128 + self.pitch
        return keys


def settle_slips(
    played: Played, written: Written, due: Due, pairs: dict[int, int], costs: Costs
) -> tuple[dict[int, int], dict[int, int]]:
    """Find the wrong keys among what is left over; doubtful right keys may turn out otherwise.

    Parameters
    ----------
    pairs
        Played note -> written note with the same key.

    Returns
    -------
    tuple
        Right and wrong keys, each as played note -> written note.
    """
    off = {
        i: abs(float(played.seconds[i] - due.seconds[j])) / due.reach[j] for i, j in pairs.items()
    }
    right = {i: j for i, j in pairs.items() if off[i] <= SURE}
    taken = set(right.values())
    left = np.array([j for j in range(len(written.pitch)) if j not in taken], np.int64)
    left = left[np.argsort(due.seconds[left], kind="stable")]
    if not len(left):
        return right, {}
    keys = written.keys()
    sounded = set(keys[list(taken)].tolist())
    loudness = _loudness(played.velocity)
    offers: list[tuple[float, int, int]] = []
    for i in range(len(played.seconds)):
        if i in right:
            continue
        seconds, pitch = float(played.seconds[i]), int(played.pitch[i])
        first, behind = np.searchsorted(
            due.seconds[left], (seconds - FARTHEST_SECONDS, seconds + FARTHEST_SECONDS)
        )
        added = _cost_of_added(i, played, right, loudness, costs)
        if i in pairs:
            offers.append((2 * OFF_TIME * off[i] - added - costs.missed_note, i, pairs[i]))
        for j in left[first:behind].tolist():
            distance = abs(pitch - int(written.pitch[j]))
            if not 0 < distance <= LONGEST_SLIP and distance != 12:
                continue
            # A unison that sounded is nothing missed, yet the other hand may have meant it.
            missed = 0.0 if int(keys[j]) in sounded else costs.missed_note
            cost = costs.wrong + SUBSTITUTION.get(distance, SUBSTITUTION_ELSE)
            cost += 2 * OFF_TIME * abs(seconds - float(due.seconds[j])) / float(due.reach[j])
            offers.append((cost - added - missed, i, j))
    wrong: dict[int, int] = {}
    for saved, i, j in sorted(offers):
        if saved >= 0:
            break
        if i in right or i in wrong or j in taken:
            continue
        (right if pairs.get(i) == j else wrong)[i] = j
        taken.add(j)
    return right, wrong


def _cost_of_added(
    i: int, played: Played, right: dict[int, int], loudness: NDArray[np.float64], costs: Costs
) -> float:
    """Cost of a key that stands for nothing: less for one brushed beside a right one."""
    near = slice(max(0, i - NEIGHBOURS), i + NEIGHBOURS + 1)
    beside = np.abs(played.pitch[near] - played.pitch[i])
    beside = (beside > 0) & (beside <= BRUSH_SEMITONES)
    beside &= np.abs(played.seconds[near] - played.seconds[i]) <= BRUSH_SECONDS
    if not any(near.start + at in right for at in np.flatnonzero(beside).tolist()):
        return costs.added_far
    # Two equal bells over the logarithm of loudness, about 0 (struck) and a middle (brushed).
    middle = math.log(BRUSHED_LOUDNESS)
    heard = math.log(min(LOUDEST, max(SOFTEST, float(loudness[i]))))
    return costs.added_near - middle * (2 * heard - middle) / (2 * LOUDNESS_SPREAD**2)


def _loudness(velocity: NDArray[np.float64]) -> NDArray[np.float64]:
    """Velocities as multiples of the middle of the notes around them."""
    mode = "reflect" if len(velocity) > NEIGHBOURS else "edge"
    padded = np.pad(velocity, NEIGHBOURS, mode=mode)  # type: ignore[call-overload]
    around = np.lib.stride_tricks.sliding_window_view(padded, 2 * NEIGHBOURS + 1)
    loudness: NDArray[np.float64] = velocity / np.maximum(np.median(around, axis=1), 1.0)
    return loudness
