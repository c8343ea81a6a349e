"""Which written note each played note of a pass stands for.

The decoder tells roughly where the player was. Here every note is judged, key by key:

1. The time of each written onset is taken from the notes that are surely right (their median), and
   drawn through the onsets between as straight lines: a map from the score to the clock.
2. For each key, the written and the played notes are paired in order (dynamic programming), each
   pair costing its distance on the clock, each unpaired note a fixed amount. This is the symbolic
   refinement of Peter et al. (2023, automatic note-level alignment; from memory), with a map
   that is better after each round.
3. What is left over is compared across keys: an unpaired played note close in time to an unpaired
   written one, and at a distance at which fingers slip, is a wrong key for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from companion.listening.decoding.score_onsets import ScoreOnsets
    from companion.listening.matching.passes import Pass
    from companion.listening.notes import HeardNote

ROUNDS = 2
REACH_SECONDS = 0.25
REACH_QUARTERS = 0.5
"""A pair may lie this far from the map: the sum of both."""
ORNAMENT_BEFORE_SECONDS = 0.15
ORNAMENT_SEMITONES = 4
"""Ornaments begin a little early and stay near the note they adorn."""
LONGEST_SLIP = 5
"""Semitones by which a finger slips at most, octaves apart."""
SOFT = 0.6
SOFT_SLIP = 0.4
"""A key struck this much softer than those around it was more likely brushed than mistaken."""
UNPAIRED = 1.0
"""Cost of leaving a note unpaired, in units of the reach."""


@dataclass(frozen=True, slots=True)
class Assignment:
    """Written note for each played note of a pass, -1 for none; and what was not played.

    ``adorns`` tells of notes that stand for nothing whose ornament they belong to, -1 for none.
    """

    note: NDArray[np.int64]
    wrong: NDArray[np.bool_]
    adorns: NDArray[np.int64]
    missed: NDArray[np.int64]


def assign(onsets: ScoreOnsets, passage: Pass, notes: Sequence[HeardNote]) -> Assignment:
    """Judge the notes of one pass.

    Parameters
    ----------
    onsets
        The laid out score.
    passage
        The pass, from :func:`companion.listening.matching.passes.find_passes`.
    notes
        The heard notes of the whole take.
    """
    heard = notes[passage.first : passage.last + 1]
    times = np.array([note.onset_seconds for note in heard])
    pitches = np.array([note.pitch for note in heard])
    low, high = passage.lowest, passage.highest
    written = [index for state in range(low, high + 1) for index in onsets.notes_at[state]]
    score = np.array(written, np.int64)
    quarters = onsets.note_onset_quarters[score]
    keys = onsets.note_pitch[score]

    place = onsets.state_quarters[passage.states]
    sure = passage.right
    if not sure.any():
        sure = np.ones(len(heard), np.bool_)
    clock = _clock(place[sure], times[sure])
    pairs: dict[int, int] = {}
    for _ in range(ROUNDS):
        expected = clock.seconds_at(quarters)
        reach = REACH_SECONDS + REACH_QUARTERS * clock.seconds_per_quarter_at(quarters)
        pairs = _pair_by_key(times, pitches, expected, reach, keys)
        if pairs:
            played = np.fromiter(pairs, np.int64, len(pairs))
            paired = np.fromiter(pairs.values(), np.int64, len(pairs))
            steady = ~onsets.note_grace[score[paired]]
            slipped = passage.wrong & ~np.isin(np.arange(len(heard)), played)
            clock = (
                _clock(
                    np.concatenate((quarters[paired][steady], place[slipped])),
                    np.concatenate((times[played][steady], times[slipped])),
                )
                if steady.any()
                else clock
            )
    expected = clock.seconds_at(quarters)
    pace = clock.seconds_per_quarter_at(quarters)
    reach = REACH_SECONDS + REACH_QUARTERS * pace
    soft = _soft(np.array([note.velocity for note in heard], np.float64))
    slips = _pair_slips(times, pitches, expected, reach, keys, pairs, soft)

    note = np.full(len(heard), -1, np.int64)
    wrong = np.zeros(len(heard), np.bool_)
    taken = np.zeros(len(score), np.bool_)
    for source, is_wrong in ((pairs, False), (slips, True)):
        for played_index, written_index in source.items():
            note[played_index] = score[written_index]
            wrong[played_index] = is_wrong
            taken[written_index] = True
    missed = score[~taken & onsets.note_expected[score] & ~_played_by_twin(quarters, keys, taken)]
    adorns = np.full(len(heard), -1, np.int64)
    adorned = np.flatnonzero(onsets.note_ornament_quarters[score] > 0)
    if len(adorned):
        begins = expected[adorned] - ORNAMENT_BEFORE_SECONDS
        lasts = onsets.note_ornament_quarters[score[adorned]] * pace[adorned]
        ends = expected[adorned] + 1.2 * lasts + ORNAMENT_BEFORE_SECONDS
        for index in np.flatnonzero(note < 0).tolist():
            near = np.abs(keys[adorned] - pitches[index]) <= ORNAMENT_SEMITONES
            near &= (begins <= times[index]) & (times[index] <= ends)
            if near.any():
                # The latest one that had begun: ornaments follow each other.
                adorns[index] = score[adorned[np.flatnonzero(near)[-1]]]
    return Assignment(note, wrong, adorns, missed)


def _played_by_twin(
    quarters: NDArray[np.float64], keys: NDArray[np.int64], taken: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Notes whose key another voice has at the same onset, and which sounded for both."""
    place = np.round(quarters * 1e4).astype(np.int64) * 128 + keys
    order = np.argsort(place, kind="stable")
    twins = np.zeros(len(place), np.bool_)
    same = np.flatnonzero(np.diff(place[order]) == 0)
    sounded = set(place[taken].tolist())
    for at in same.tolist():
        for index in (int(order[at]), int(order[at + 1])):
            # Of unisons that never sounded one is missed, the first.
            twins[index] = int(place[index]) in sounded or index == int(order[at + 1])
    return twins


@dataclass(frozen=True, slots=True)
class _Clock:
    quarters: NDArray[np.float64]
    seconds: NDArray[np.float64]
    slope: float

    def seconds_at(self, quarters: NDArray[np.float64]) -> NDArray[np.float64]:
        inside = np.interp(quarters, self.quarters, self.seconds)
        before = np.minimum(quarters - self.quarters[0], 0.0)
        behind = np.maximum(quarters - self.quarters[-1], 0.0)
        seconds: NDArray[np.float64] = inside + (before + behind) * self.slope
        return seconds

    def seconds_per_quarter_at(self, quarters: NDArray[np.float64]) -> NDArray[np.float64]:
        return (self.seconds_at(quarters + 0.5) - self.seconds_at(quarters - 0.5)).clip(0.1, 3.0)


def _clock(quarters: NDArray[np.float64], seconds: NDArray[np.float64]) -> _Clock:
    """Median time of each onset, made to rise."""
    order = np.lexsort((seconds, quarters))
    quarters, seconds = quarters[order], seconds[order]
    onsets, first, count = np.unique(quarters, return_index=True, return_counts=True)
    middle = (seconds[first + (count - 1) // 2] + seconds[first + count // 2]) / 2
    middle = np.maximum.accumulate(middle)
    slope = 0.6
    if len(onsets) > 1:
        slope = float(np.median(np.diff(middle) / np.diff(onsets)))
    return _Clock(onsets, middle, min(3.0, max(0.1, slope)))


def _pair_by_key(
    times: NDArray[np.float64],
    pitches: NDArray[np.int64],
    expected: NDArray[np.float64],
    reach: NDArray[np.float64],
    keys: NDArray[np.int64],
) -> dict[int, int]:
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


def _soft(velocities: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Notes much softer than the middle of the fifteen around them."""
    padded = np.pad(velocities, 7, mode="reflect" if len(velocities) > 7 else "edge")
    around = np.lib.stride_tricks.sliding_window_view(padded, 15)
    return velocities < SOFT * np.median(around, axis=1)


def _pair_slips(
    times: NDArray[np.float64],
    pitches: NDArray[np.int64],
    expected: NDArray[np.float64],
    reach: NDArray[np.float64],
    keys: NDArray[np.int64],
    pairs: dict[int, int],
    soft: NDArray[np.bool_],
) -> dict[int, int]:
    """Wrong keys: left-over played and written notes that belong together, nearest first."""
    left_played = [i for i in range(len(times)) if i not in pairs]
    taken = set(pairs.values())
    left_written = np.array([j for j in range(len(expected)) if j not in taken], np.int64)
    if not left_played or not len(left_written):
        return {}
    order = np.argsort(expected[left_written], kind="stable")
    left_written = left_written[order]
    wanted = expected[left_written]
    offers: list[tuple[float, int, int]] = []
    for i in left_played:
        t = times[i]
        low, high = np.searchsorted(wanted, (t - 1.5, t + 1.5))
        for j in left_written[low:high].tolist():
            off = abs(t - expected[j]) / (0.5 * reach[j])
            distance = abs(int(pitches[i] - keys[j]))
            if distance > LONGEST_SLIP and distance != 12:
                continue
            slip = 0.05 * distance if distance <= 2 else 0.2 if distance in (3, 12) else 0.5
            slip += SOFT_SLIP * soft[i]
            if off + slip <= 1.0:
                offers.append((off + slip, i, j))
    slips: dict[int, int] = {}
    used: set[int] = set()
    for _, i, j in sorted(offers):
        if i not in slips and j not in used:
            slips[i] = j
            used.add(j)
    return slips
