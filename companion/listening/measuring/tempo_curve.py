"""The tempo from beat to beat, and how steady it is.

Conventions
-----------
- The time of a beat is the median onset of the notes written on it (common practice). Beats without
  a note are bridged: an interval then spans several beats and its tempo is their mean.
- Tempo is in quarters per minute, whatever the beat unit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np

from companion.listening.measuring.played import PlayedTake
from companion.listening.measuring.score_index import Flags, Floats, Ints, ScoreIndex
from companion.score.model import Position

TREND_BEATS = 9
FEWEST_BEATS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoPoint:
    """Local tempo from one beat on: a point of the tempo curve."""

    passage: int
    position: Position
    onset_quarters: Fraction
    at_seconds: float
    quarters_per_minute: float


@dataclass(frozen=True, slots=True, eq=False)
class Intervals:
    """Times between successive places of a take, all inside one passage each.

    Parameters
    ----------
    start_onset, end_onset
        Written onsets at both ends, as indices.
    passage
        The passage of both.
    quarters, nominal
        Written length, and the same stretched by the written tempi.
    at_seconds, seconds
        Time of the start and length in clock time, always above 0.
    """

    start_onset: Ints
    end_onset: Ints
    passage: Ints
    quarters: Floats
    nominal: Floats
    at_seconds: Floats
    seconds: Floats

    def __len__(self) -> int:
        return len(self.seconds)


def onset_intervals(index: ScoreIndex, take: PlayedTake) -> Intervals:
    """Times from each played onset to the next one of its passage."""
    return _intervals(index, take, np.ones(len(take.struck_onset), np.bool_))


def beat_intervals(index: ScoreIndex, take: PlayedTake) -> Intervals:
    """Times from each played beat to the next one of its passage."""
    return _intervals(index, take, index.onset_on_beat[take.struck_onset])


def _intervals(index: ScoreIndex, take: PlayedTake, chosen: Flags) -> Intervals:
    onset, passage = take.struck_onset[chosen], take.struck_passage[chosen]
    times = take.struck_seconds[chosen]
    lengths = np.diff(times)
    # two onsets heard at once or in reverse say nothing of the tempo
    good = np.flatnonzero((np.diff(passage) == 0) & (lengths > 0.0))
    start, end = onset[good], onset[good + 1]
    return Intervals(
        start_onset=start,
        end_onset=end,
        passage=passage[good],
        quarters=index.onset_quarters[end] - index.onset_quarters[start],
        nominal=index.onset_nominal[end] - index.onset_nominal[start],
        at_seconds=times[good],
        seconds=lengths[good],
    )


def tempo_points(index: ScoreIndex, beats: Intervals) -> tuple[TempoPoint, ...]:
    """Return the tempo curve of a take, passage by passage, for drawing."""
    score = index.score
    points: list[TempoPoint] = []
    columns = (beats.start_onset, beats.passage, beats.quarters, beats.at_seconds, beats.seconds)
    for onset, passage, quarters, at_seconds, seconds in zip(
        *(column.tolist() for column in columns), strict=True
    ):
        note = score.notes[index.onset_first_note[onset]]
        points.append(
            TempoPoint(
                passage=passage,
                position=Position(note.measure_index, _exact(note.measure_offset_quarters)),
                onset_quarters=_exact(note.onset_quarters),
                at_seconds=at_seconds,
                quarters_per_minute=60.0 * quarters / seconds,
            )
        )
    return tuple(points)


def _exact(quarters: Fraction | float) -> Fraction:
    return quarters if isinstance(quarters, Fraction) else Fraction(quarters)


def running_tempo(quarters: Floats, seconds: Floats) -> float | None:
    """Median local tempo in quarters per minute, each interval weighing as much as it spans.

    Returns
    -------
    float or None
        None without any interval.
    """
    if not len(seconds):
        return None
    tempi = 60.0 * quarters / seconds
    order = np.argsort(tempi)
    weights = np.cumsum(quarters[order])
    half = 0.5 * weights[-1]
    low = int(np.searchsorted(weights, half * (1 - 1e-12)))
    high = int(np.searchsorted(weights, half * (1 + 1e-12), side="right"))
    last = len(order) - 1
    return float(0.5 * (tempi[order[min(low, last)]] + tempi[order[min(high, last)]]))


def steadiness(quarters: Floats, seconds: Floats, group: Ints | None = None) -> float | None:
    """Coefficient of variation of beat lengths after removing the slow trend.

    The trend is a straight line fitted to the :data:`TREND_BEATS` beats around each beat (to all of
    them where there are fewer); the standard deviation of what is left is divided by the mean beat
    length. The number of degrees of freedom that the fit takes is allowed for, so that for purely
    random beats the value is that of the plain coefficient of variation.

    Parameters
    ----------
    quarters, seconds
        Written and played length of each interval, stops left out. Where the score changes its
        tempo, the written lengths are stretched accordingly.
    group
        Intervals with different numbers (passages) have trends of their own; they come in order.

    Returns
    -------
    float or None
        0 for a metronome or an even change of beat length; None where no passage has
        :data:`FEWEST_BEATS`.
    """
    lengths = seconds / quarters
    cuts = [0, len(lengths)]
    if group is not None and len(lengths):
        cuts[1:1] = (np.flatnonzero(np.diff(group)) + 1).tolist()
    squares = freedom = 0.0
    for low, high in pairwise(cuts):
        if high - low >= FEWEST_BEATS:
            more_squares, more_freedom = _left_of_trend(lengths[low:high])
            squares += more_squares
            freedom += more_freedom
    return math.sqrt(squares / freedom) / float(lengths.mean()) if freedom else None


def _left_of_trend(lengths: Floats) -> tuple[float, float]:
    """Sum of squares and degrees of freedom that are left when the trend is taken out."""
    count = len(lengths)
    window = min(TREND_BEATS, count)
    places = np.arange(window) - (window - 1) / 2.0
    spread = float(places @ places)
    half = window // 2

    def left(part: Floats) -> Floats:
        slope = float(places @ part) / spread
        rest: Floats = part - (part.sum() / window + slope * places)
        return rest

    if count == window:
        residual = left(lengths)
        return float(residual @ residual), float(count - 2)
    residual = np.empty(count)
    residual[:half] = left(lengths[:window])[:half]
    residual[count - half :] = left(lengths[-window:])[window - half :]
    moving = np.convolve(lengths, np.full(window, 1.0 / window), mode="valid")
    residual[half : count - half] = lengths[half : count - half] - moving
    leverage = 1.0 / window + places[:half] ** 2 / spread
    freedom = 2.0 * float(np.sum(1.0 - leverage)) + (count - 2 * half) * (1.0 - 1.0 / window)
    return float(residual @ residual), freedom
