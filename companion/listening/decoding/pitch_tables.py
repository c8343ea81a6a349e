"""What one key means at every state of the score, worked out once per key."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import SUBSTITUTION, SUBSTITUTION_ELSE
from companion.listening.decoding.score_onsets import PITCHES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.score_onsets import ScoreOnsets


@dataclass(frozen=True, slots=True)
class PitchTables:
    """What one key means at every state."""

    written: NDArray[np.intp]  # the states where it is written
    bits: NDArray[np.int64]  # its mask there, 0 elsewhere
    wrong: NDArray[np.float64]  # cost of standing for another key
    added: NDArray[np.float64]  # cost of standing for nothing
    adorning: NDArray[np.bool_]  # may belong to an ornament
    adorning_any: bool
    late: NDArray[np.bool_]  # written one or two onsets before
    slip: NDArray[np.float64]  # 0 where it is written, else as ``wrong``
    close: NDArray[np.intp]  # the states where it is not written but a key it may stand for is


def pitch_tables(onsets: ScoreOnsets, costs: Costs, pitch: int) -> PitchTables:
    """Work out what a key means everywhere in the score."""
    written = onsets.written[pitch]
    bits = np.where(written, np.left_shift(np.int64(1), onsets.slot[pitch].astype(np.int64)), 0)

    def within(*distances: int, among: NDArray[np.bool_] = onsets.written) -> NDArray[np.bool_]:
        found = np.zeros(onsets.size, np.bool_)
        for distance in distances:
            for other in {pitch - distance, pitch + distance}:
                if 0 <= other < PITCHES:
                    found |= among[other]
        return found

    wrong = np.full(onsets.size, costs.wrong + SUBSTITUTION_ELSE)
    for distance in sorted(SUBSTITUTION, key=SUBSTITUTION.__getitem__, reverse=True):
        wrong[within(distance)] = costs.wrong + SUBSTITUTION[distance]
    added = np.full(onsets.size, costs.added_far)
    added[within(1, 2)] = costs.added_near
    late = np.zeros(onsets.size, np.bool_)
    for away in (1, 2):
        late[away:] |= written[:-away]
    added[written] = costs.added_again
    adorning = within(0, 1, 2, 3, 4, among=onsets.adorned)
    return PitchTables(
        np.flatnonzero(written),
        bits,
        wrong,
        added,
        adorning,
        bool(adorning.any()),
        late,
        np.where(written, 0.0, wrong),
        np.flatnonzero(~written & within(*SUBSTITUTION)),
    )
