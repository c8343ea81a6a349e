"""Where the flow of the playing broke: hesitations, stops, restarts and jumps.

Conventions
-----------
- The *rate* is the clock time per written quarter; what is expected is the median rate of the eight
  intervals before, across restarts, so that a new passage is judged by the tempo of the last one.
  Written changes of tempo are allowed for.
- A hesitation is an interval of more than twice the expected length and 300 ms more; a stop is one
  of more than twice, 500 ms more and longer than a beat and a half. (Thresholds of our own,
  calibrated on open recordings of professional pianists, for whom both stay below 1 % of onsets.)
- Not judged: the first four onsets of a take, and intervals that begin under a fermata. In the last
  two measures of the piece, where a ritard is expected, only stops are.
- An interruption belongs to the place of the note that was waited for: the one that came late or,
  where the player went elsewhere, the one that should have come next.
- Going back where the score itself goes back (repeats, D.C., D.S.), or on over a first ending, is
  neither restart nor jump.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

import numpy as np

from companion.listening.measuring.order_statistics import median
from companion.listening.measuring.played import PlayedTake
from companion.listening.measuring.score_index import Flags, Floats, Ints, ScoreIndex
from companion.listening.measuring.tempo_curve import Intervals
from companion.listening.notes import Beginning, Hands, Match, Passage

BASELINE_INTERVALS = 8
FIRST_ONSETS_NOT_JUDGED = 4
RATIO = 2.0
HESITATION_EXCESS_SECONDS = 0.3
STOP_EXCESS_SECONDS = 0.5
STOP_BEATS = 1.5
RITARD_MEASURES = 2


class InterruptionKind(StrEnum):
    """How the flow broke."""

    HESITATION = "hesitation"
    STOP = "stop"
    RESTART = "restart"
    JUMP = "jump"


@dataclass(frozen=True, slots=True, kw_only=True)
class Interruption:
    """One break in the flow.

    Parameters
    ----------
    passage
        The passage that was interrupted.
    note
        Index in ``score.notes`` of a note that was waited for, the number of notes at the end.
    measure_index
        Its measure.
    at_seconds
        Time of the onset before the break.
    waited_seconds, expected_seconds
        How long the next note took, and how long it should have taken.
    """

    kind: InterruptionKind
    passage: int
    note: int
    measure_index: int
    at_seconds: float
    waited_seconds: float
    expected_seconds: float


def find_interruptions(
    index: ScoreIndex,
    take: PlayedTake,
    onsets: Intervals,
    match: Match,
    leaps: Collection[int] = (),
) -> tuple[tuple[Interruption, ...], Flags]:
    """Find every break in the flow.

    Parameters
    ----------
    leaps
        Passages after which the score itself leads elsewhere.

    Returns
    -------
    interruptions
        In the order of time.
    waits
        Per interval of ``onsets``: whether it was a hesitation or a stop.
    """
    rates = onsets.seconds / onsets.nominal
    expected_rate = _baseline(rates)
    expected = expected_rate * onsets.nominal
    judged = _judged(index, take, onsets)
    long = judged & (onsets.seconds > RATIO * expected)
    excess = onsets.seconds - expected
    beat_quarters = index.onset_beat_quarters[onsets.start_onset]
    beat_seconds = expected * beat_quarters / onsets.quarters
    stop = long & (excess > STOP_EXCESS_SECONDS) & (onsets.seconds > STOP_BEATS * beat_seconds)
    late = long & (excess > HESITATION_EXCESS_SECONDS)
    hesitation = late & ~stop & ~_in_last_measures(index, onsets.end_onset)
    found = [
        _interruption(
            index,
            InterruptionKind.STOP if stop[k] else InterruptionKind.HESITATION,
            passage=int(onsets.passage[k]),
            note=int(index.onset_first_note[onsets.end_onset[k]]),
            at_seconds=float(onsets.at_seconds[k]),
            waited=float(onsets.seconds[k]),
            expected=float(expected[k]),
        )
        for k in np.flatnonzero(stop | hesitation)
    ]
    found.extend(_breaks(index, take, onsets, rates, match, leaps))
    found.sort(key=lambda interruption: interruption.at_seconds)
    return tuple(found), stop | late


def _baseline(rates: Floats) -> Floats:
    """Median of the eight rates before each interval; of those there are for the first ones."""
    baseline = np.full(len(rates), np.nan)
    for k in range(1, min(BASELINE_INTERVALS, len(rates))):
        baseline[k] = median(rates[:k])
    if len(rates) > BASELINE_INTERVALS:
        windows = np.lib.stride_tricks.sliding_window_view(rates[:-1], BASELINE_INTERVALS)
        ordered = np.sort(windows, axis=1)
        middle = BASELINE_INTERVALS // 2
        baseline[BASELINE_INTERVALS:] = 0.5 * (ordered[:, middle - 1] + ordered[:, middle])
    return baseline


def _judged(index: ScoreIndex, take: PlayedTake, onsets: Intervals) -> Flags:
    judged = ~index.held_onsets[onsets.start_onset]
    if len(take.struck_seconds) >= FIRST_ONSETS_NOT_JUDGED:
        first = np.sort(take.struck_seconds)[FIRST_ONSETS_NOT_JUDGED - 1]
        judged &= onsets.at_seconds >= first
    else:
        judged[:] = False
    return judged


def _in_last_measures(index: ScoreIndex, onset: Ints) -> Flags:
    measures = index.score.measures
    start = float(measures[max(0, len(measures) - RITARD_MEASURES)].start_quarters)
    late: Flags = index.onset_quarters[onset] >= start
    return late


def _breaks(
    index: ScoreIndex,
    take: PlayedTake,
    onsets: Intervals,
    rates: Floats,
    match: Match,
    leaps: Collection[int],
) -> list[Interruption]:
    """Interruptions between one passage and the next."""
    found: list[Interruption] = []
    for before, after in pairwise(match.passages):
        ended = np.flatnonzero(take.struck_passage == before.index)
        began = np.flatnonzero(take.struck_passage == after.index)
        if not len(ended) or not len(began):
            continue
        last_onset = int(take.struck_onset[ended[-1]])
        at_seconds = float(take.struck_seconds[ended[-1]])
        waited = max(0.0, float(take.struck_seconds[began[0]]) - at_seconds)
        next_note = _next_note(index, last_onset, before.hands)
        known = rates[onsets.at_seconds < at_seconds][-BASELINE_INTERVALS:]
        rate = float(np.median(known)) if len(known) else np.inf
        expected = rate * _nominal_to(index, last_onset, next_note)
        beat_seconds = rate * float(index.onset_beat_quarters[last_onset])

        def note(
            kind: InterruptionKind,
            before: Passage = before,
            next_note: int = next_note,
            at_seconds: float = at_seconds,
            waited: float = waited,
            expected: float = expected,
        ) -> Interruption:
            return _interruption(
                index,
                kind,
                passage=before.index,
                note=next_note,
                at_seconds=at_seconds,
                waited=waited,
                expected=expected,
            )

        long = waited > RATIO * expected and waited > STOP_BEATS * beat_seconds
        held = bool(index.held_onsets[last_onset])
        if long and waited - expected > STOP_EXCESS_SECONDS and not held:
            found.append(note(InterruptionKind.STOP))
        if before.index in leaps:
            continue
        if after.began_with is Beginning.RESTART:
            found.append(note(InterruptionKind.RESTART))
        elif after.began_with is Beginning.JUMP:
            found.append(note(InterruptionKind.JUMP))
    return found


def _next_note(index: ScoreIndex, onset: int, hands: Hands) -> int:
    """First expected note of the played hands behind an onset; the number of notes at the end."""
    candidates = index.note_expected & (index.note_onset > onset)
    if hands is not Hands.BOTH:
        candidates = candidates & (index.note_right_hand == (hands is Hands.RIGHT))
    found = np.flatnonzero(candidates)
    return int(found[0]) if len(found) else len(index.score.notes)


def _nominal_to(index: ScoreIndex, onset: int, note: int) -> float:
    if note < len(index.note_onset):
        return float(index.onset_nominal[index.note_onset[note]] - index.onset_nominal[onset])
    return float(index.score.end_quarters) - float(index.onset_quarters[onset])


def _interruption(
    index: ScoreIndex,
    kind: InterruptionKind,
    *,
    passage: int,
    note: int,
    at_seconds: float,
    waited: float,
    expected: float,
) -> Interruption:
    notes = index.score.notes
    measure = notes[note].measure_index if note < len(notes) else len(index.score.measures)
    return Interruption(
        kind=kind,
        passage=passage,
        note=note,
        measure_index=measure,
        at_seconds=at_seconds,
        waited_seconds=waited,
        expected_seconds=expected,
    )
