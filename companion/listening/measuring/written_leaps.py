"""Leaps that the score itself asks for: repeats, endings, D.C., D.S. and the coda.

The matcher compares with the score as printed, so that taking a repeat begins a new passage. Here
such leaps are told from restarts and jumps of the player.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from companion.listening.measuring.played import PlayedTake
from companion.listening.measuring.score_index import ScoreIndex
from companion.listening.notes import Hands, Match


def written_leaps(index: ScoreIndex, take: PlayedTake, match: Match) -> dict[int, float]:
    """Find the leaps of a take that are written.

    Returns
    -------
    dict of int to float
        By the index of the passage before the leap: quarters from its last played onset to the
        first one of the next passage, counted along the written order.
    """
    steps = [step for step in pairwise(index.score.playing_order) if step[1] != step[0] + 1]
    found: dict[int, float] = {}
    for before, after in pairwise(match.passages):
        ended = np.flatnonzero(take.struck_passage == before.index)
        began = np.flatnonzero(take.struck_passage == after.index)
        if not steps or not len(ended) or not len(began):
            continue
        last, first = int(take.struck_onset[ended[-1]]), int(take.struck_onset[began[0]])
        step = _step_taken(index, steps, last, first, before.hands)
        if step is not None:
            found[before.index] = _quarters_between(index, step, last, first)
    return found


def _step_taken(
    index: ScoreIndex, steps: list[tuple[int, int]], last: int, first: int, hands: Hands
) -> tuple[int, int] | None:
    """Which written leap leads from one onset to the other, if any.

    One onset short of the end of the measure, and one behind the start of the next, are allowed: a
    missed note does not make a repeat a restart.
    """
    measure_of = index.note_measure[index.onset_first_note]
    from_measure, to_measure = int(measure_of[last]), int(measure_of[first])
    if to_measure > from_measure:
        # on over an ending: where both endings begin alike, the leap is heard a little late
        return next((s for s in steps if s[0] <= from_measure < s[1] and to_measure == s[1]), None)
    if (from_measure, to_measure) not in steps:
        return None
    played = _onsets_of(index, hands)
    left = np.count_nonzero((measure_of[played] == from_measure) & (played > last))
    skipped = np.count_nonzero((measure_of[played] == to_measure) & (played < first))
    return (from_measure, to_measure) if left <= 1 and skipped <= 1 else None


def _onsets_of(index: ScoreIndex, hands: Hands) -> np.typing.NDArray[np.int64]:
    """The onsets at which the hands that play have an expected note."""
    wanted = index.note_expected & ~index.note_grace
    if hands is not Hands.BOTH:
        wanted &= index.note_right_hand == (hands is Hands.RIGHT)
    return np.unique(index.note_onset[wanted])


def _quarters_between(index: ScoreIndex, step: tuple[int, int], last: int, first: int) -> float:
    measures = index.score.measures
    from_quarters, to_quarters = index.onset_quarters[last], index.onset_quarters[first]
    into = float(to_quarters) - float(measures[step[1]].start_quarters)
    behind = float(from_quarters) - float(measures[step[0]].end_quarters)
    # in a leap that is heard late, the last onset stands in the ending that is left out already
    return max(0.0, into - behind)
