"""Right keys: the written and the played notes of each key, paired in order.

Dynamic programming over the notes of one key: each pair costs its distance on the clock, each
note left over a fixed amount. This is the symbolic refinement of Peter et al. (2023, automatic
note-level alignment; from memory), with a clock that is better after each round.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

UNPAIRED = 1.0
"""Cost of leaving a note unpaired, in units of the reach."""


def pair_by_key(
    times: NDArray[np.float64],
    pitches: NDArray[np.int64],
    expected: NDArray[np.float64],
    reach: NDArray[np.float64],
    keys: NDArray[np.int64],
) -> dict[int, int]:
    """Pair the notes of each key.

    Parameters
    ----------
    times, pitches
        Of the played notes, sorted by time.
    expected, reach, keys
        Of the written notes: when they were due, how far off they may come, and their pitch.

    Returns
    -------
    dict
        Played note -> written note.
    """
    pairs: dict[int, int] = {}
    played_by_key: dict[int, list[int]] = {}
    for index, pitch in enumerate(pitches.tolist()):
        played_by_key.setdefault(pitch, []).append(index)
    written_by_key: dict[int, list[int]] = {}
    for index in np.argsort(expected, kind="stable").tolist():
        written_by_key.setdefault(int(keys[index]), []).append(index)
    seconds, wanted, within = times.tolist(), expected.tolist(), reach.tolist()
    for key, played in played_by_key.items():
        written = written_by_key.get(key)
        if written:
            _pair_in_order(played, written, seconds, wanted, within, pairs)
    return pairs


def _pair_in_order(
    played: list[int],
    written: list[int],
    times: list[float],
    expected: list[float],
    reach: list[float],
    pairs: dict[int, int],
) -> None:
    """Cheapest pairing of two sorted lists that keeps their order, cut where nothing is near."""
    at = 0
    begin_played = 0
    total_played, total_written = len(played), len(written)
    while begin_played < total_played and at < total_written:
        # Skip what has no partner.
        t = times[played[begin_played]]
        if expected[written[at]] + reach[written[at]] < t:
            at += 1
            continue
        if t + reach[written[at]] < expected[written[at]]:
            begin_played += 1
            continue
        # Grow a cluster of overlapping reaches.
        end_played, end_written = begin_played + 1, at + 1
        edge = max(t, expected[written[at]] + reach[written[at]])
        while True:
            if end_written < total_written and (
                expected[written[end_written]] - reach[written[end_written]] <= edge
            ):
                edge = max(edge, expected[written[end_written]] + reach[written[end_written]])
                end_written += 1
            elif end_played < total_played and times[played[end_played]] <= edge:
                edge = max(edge, times[played[end_played]])
                end_played += 1
            else:
                break
        _pair_cluster(
            played[begin_played:end_played], written[at:end_written], times, expected, reach, pairs
        )
        begin_played, at = end_played, end_written


def _pair_cluster(
    played: list[int],
    written: list[int],
    times: list[float],
    expected: list[float],
    reach: list[float],
    pairs: dict[int, int],
) -> None:
    if len(played) == 1 and len(written) == 1:
        if abs(times[played[0]] - expected[written[0]]) <= reach[written[0]]:
            pairs[played[0]] = written[0]
        return
    columns = len(written) + 1
    above = [UNPAIRED * j for j in range(columns)]
    choices: list[list[int]] = []
    for i in played:
        row = [above[0] + UNPAIRED]
        choice = [1]
        t = times[i]
        for j in range(1, columns):
            s = written[j - 1]
            distance = abs(t - expected[s]) / reach[s]
            pair = above[j - 1] + distance if distance <= 1.0 else 1e9
            leave_played, leave_written = above[j] + UNPAIRED, row[j - 1] + UNPAIRED
            if pair <= leave_played and pair <= leave_written:
                row.append(pair)
                choice.append(0)
            elif leave_played <= leave_written:
                row.append(leave_played)
                choice.append(1)
            else:
                row.append(leave_written)
                choice.append(2)
        above = row
        choices.append(choice)
    i, j = len(played) - 1, columns - 1
    while i >= 0 and j > 0:
        choice_here = choices[i][j]
        if choice_here == 0:
            pairs[played[i]] = written[j - 1]
            i -= 1
            j -= 1
        elif choice_here == 1:
            i -= 1
        else:
            j -= 1
