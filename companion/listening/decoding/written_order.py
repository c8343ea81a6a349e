"""Where the score leads elsewhere than to the next onset: repeats, endings, D.C., D.S., the coda.

For the decoder a written leap is one more way to go on, in time and without a pause. A player may
leave it out: the next printed onset stays within reach as ever. The last onset before a leap and
the first one behind it may be missed, so each leap is there up to four times.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise, product
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from companion.score.model import ScoreNote

MISSED_ONSETS = 1
"""So many onsets may be missed before a leap, and as many behind it."""


@dataclass(frozen=True, slots=True)
class Leaps:
    """Written leaps, one element each.

    Parameters
    ----------
    source, target
        The states from which and to which they lead.
    quarters
        Written time between the two.
    skipped_onsets, skipped_keys
        How much is missed on the way.
    last, first
        The state before the leap and the one behind it when nothing is missed.
    """

    source: NDArray[np.intp]
    target: NDArray[np.intp]
    quarters: NDArray[np.float64]
    skipped_onsets: NDArray[np.float64]
    skipped_keys: NDArray[np.float64]
    last: NDArray[np.intp]
    first: NDArray[np.intp]

    def index_of(self, source: int, target: int) -> int:
        """The leap between two states; KeyError where there is none."""
        found = np.flatnonzero((self.source == source) & (self.target == target))
        if not len(found):
            raise KeyError((source, target))
        return int(found[0])


def measure_steps(playing_order: Sequence[int]) -> frozenset[tuple[int, int]]:
    """Pairs of measure indices of which the second follows by a written leap."""
    return frozenset(step for step in pairwise(playing_order) if step[1] != step[0] + 1)


def find_leaps(
    score_notes: Sequence[ScoreNote],
    playing_order: Sequence[int],
    state_quarters: NDArray[np.float64],
    state_keys: NDArray[np.float32],
    starts: Sequence[int],
    ends: Sequence[int],
) -> Leaps:
    """Find the leaps of all chains.

    Parameters
    ----------
    playing_order
        Measure indices in the order of playing; empty as printed.
    state_quarters, state_keys
        Onset and number of keys per state.
    starts, ends
        Range of states of each chain.
    """
    rows: dict[tuple[int, int], tuple[float, ...]] = {}
    steps = measure_steps(playing_order)
    borders = _borders(score_notes) if steps else []
    chains = [chain for chain in zip(starts, ends, strict=True) if chain[0] < chain[1]]
    for (left, entered), (start, end) in product(sorted(steps), chains):
        if max(left + 1, entered) >= len(borders):
            continue
        leaves, enters = borders[left + 1], borders[entered]
        places = state_quarters[start:end]
        last = start + int(places.searchsorted(leaves - 1e-6)) - 1
        first = start + int(places.searchsorted(enters - 1e-6))
        for before, behind in product(range(MISSED_ONSETS + 1), repeat=2):
            source, target = last - before, first + behind
            if source < start or target >= end or target == source:
                continue
            wait = leaves - state_quarters[source] + state_quarters[target] - enters
            missed = [*range(source + 1, last + 1), *range(first, target)]
            keys = float(state_keys[missed].sum())
            rows.setdefault(
                (source, target), (max(0.03, float(wait)), len(missed), keys, last, first)
            )
    pairs = np.array(list(rows), np.intp).reshape(len(rows), 2)
    table = np.array(list(rows.values()), np.float64).reshape(len(rows), 5)
    return Leaps(
        source=pairs[:, 0],
        target=pairs[:, 1],
        quarters=table[:, 0],
        skipped_onsets=table[:, 1],
        skipped_keys=table[:, 2],
        last=table[:, 3].astype(np.intp),
        first=table[:, 4].astype(np.intp),
    )


def _borders(score_notes: Sequence[ScoreNote]) -> list[float]:
    """Where each measure begins, and where the last one ends, in quarters as printed."""
    begins: dict[int, float] = {}
    end = 0.0
    for note in score_notes:
        onset = float(note.onset_quarters)
        begins.setdefault(int(note.measure_index), onset - float(note.measure_offset_quarters))
        end = max(end, onset + float(note.duration_quarters))
    borders = [end]
    for measure in range(max(begins, default=-1), -1, -1):
        borders.append(begins.get(measure, borders[-1]))  # a silent measure: that of the next one
    return borders[::-1]
