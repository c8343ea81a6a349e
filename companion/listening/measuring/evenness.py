"""How even the running notes are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from companion.listening.measuring.played import PlayedTake
from companion.listening.measuring.score_index import Flags, Floats, Ints, ScoreIndex
from companion.listening.measuring.tempo_curve import Intervals

FEWEST_INTERVALS = 5
"""Fewer intervals than the shortest run has tell nothing of evenness."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evenness:
    """Evenness over runs: standard deviation in ms, the same relative to the mean, and its n."""

    sd_ms: float
    cv: float
    count: int


@dataclass(frozen=True, slots=True, eq=False)
class RunIntervals:
    """Times from note to note inside runs.

    ``piece`` numbers the unbroken pieces of runs as they were played; ``note`` is the written note
    at the start of each interval.
    """

    piece: Ints
    note: Ints
    passage: Ints
    seconds: Floats


def run_intervals(
    index: ScoreIndex, take: PlayedTake, onsets: Intervals, waits: Flags
) -> RunIntervals:
    """Find the times from note to note inside the runs of a take.

    A missed note breaks a run; an interval during which the player hesitated or stopped is left
    out, since that has its own count.

    Parameters
    ----------
    waits
        Per interval of ``onsets``: whether the player hesitated or stopped there.
    """
    if not index.runs or not len(take.timed_note):
        nothing = np.zeros(0, np.int64)
        return RunIntervals(nothing, nothing, nothing, np.zeros(0))
    run_of, place_in_run = _run_places(index)
    run = run_of[take.timed_note]
    chosen = np.flatnonzero(run >= 0)
    place = place_in_run[take.timed_note[chosen]]
    order = chosen[np.lexsort((place, run[chosen], take.timed_passage[chosen]))]
    note, passage = take.timed_note[order], take.timed_passage[order]
    seconds = np.diff(take.timed_seconds[order])
    joined = (
        (np.diff(run[order]) == 0)
        & (np.diff(passage) == 0)
        & (np.diff(place_in_run[note]) == 1)
        & (seconds > 0.0)
    )
    waited = {(int(onsets.passage[k]), int(onsets.start_onset[k])) for k in np.flatnonzero(waits)}
    if waited:
        starts = zip(passage[:-1].tolist(), index.note_onset[note[:-1]].tolist(), strict=True)
        joined &= np.array([start not in waited for start in starts], np.bool_)
    piece = np.concatenate(([0], np.cumsum(~joined)))[:-1]
    return RunIntervals(
        piece=piece[joined],
        note=note[:-1][joined],
        passage=passage[:-1][joined],
        seconds=seconds[joined],
    )


def _run_places(index: ScoreIndex) -> tuple[Ints, Ints]:
    """Per written note the run that it is in, -1 for none, and its place in it."""
    run_of = np.full(len(index.note_onset), -1, np.int64)
    place = np.zeros(len(index.note_onset), np.int64)
    for number, run in enumerate(index.runs):
        run_of[list(run)] = number
        place[list(run)] = np.arange(len(run))
    return run_of, place


def evenness(piece: Ints, seconds: Floats) -> Evenness | None:
    """Pool the inter-onset intervals of several pieces of runs.

    The standard deviation is taken around the mean of each piece (n - 1 for each), so that runs at
    different tempi do not count as uneven; the coefficient of variation divides each interval by
    the mean of its piece first.

    Returns
    -------
    Evenness or None
        None for fewer than :data:`FEWEST_INTERVALS` intervals.
    """
    if len(seconds) < FEWEST_INTERVALS:
        return None
    group = np.concatenate(([0], np.cumsum(np.diff(piece) != 0)))  # pieces come in order
    counts = np.bincount(group)
    freedom = len(seconds) - len(counts)
    if freedom < 1:
        return None
    means = (np.bincount(group, seconds) / counts)[group]
    apart = seconds - means
    relative = apart / means
    return Evenness(
        sd_ms=1000.0 * float(np.sqrt(apart @ apart / freedom)),
        cv=float(np.sqrt(relative @ relative / freedom)),
        count=len(seconds),
    )
