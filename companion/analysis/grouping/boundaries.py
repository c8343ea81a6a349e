"""How strongly a melody is cut at each note, by published boundary models.

- Local boundaries (Cambouropoulos 2001, "The local boundary detection model"): a border is strong
  where an interval is large and differs from its neighbours. The change from one interval to the
  next is r = abs(x - y) / (x + y), 0 where both are 0; the strength of interval i is
  x_i * (r(i-1, i) + r(i, i+1)). Pitch, inter-onset and rest intervals count .25, .5 and .25, each
  first divided by its own maximum.
- Attack points (preference rule 2b of Lerdahl and Jackendoff 1983, quantified by Frankland and
  Cohen 2004; the formula is quoted from memory): 1 - (n1 + n3) / (2 n2) for three intervals between
  attacks of which the middle one is the longest.
"""

from __future__ import annotations

from collections.abc import Sequence

PITCH_WEIGHT, ONSET_WEIGHT, REST_WEIGHT = 0.25, 0.5, 0.25


def local_strengths(intervals: Sequence[float]) -> tuple[float, ...]:
    """Strength of the border at each interval of one kind (any unit); the same length."""
    count = len(intervals)
    changes = [0.0] * (count + 1)
    for place in range(1, count):
        changes[place] = _change(intervals[place - 1], intervals[place])
    return tuple(intervals[k] * (changes[k] + changes[k + 1]) for k in range(count))


def normalised(strengths: Sequence[float]) -> tuple[float, ...]:
    """The strengths as shares of the largest one; all 0 where there is none."""
    largest = max(strengths, default=0.0)
    return tuple(value / largest if largest else 0.0 for value in strengths)


def boundary_strengths(
    pitches: Sequence[int], onsets: Sequence[float], ends: Sequence[float]
) -> tuple[float, ...]:
    """Strength, 0 to 1, of a border before each note of a melody; 0 before the first one.

    Parameters
    ----------
    pitches, onsets, ends
        MIDI note number, onset and end of each note in any one unit of time.
    """
    if len(pitches) < 2:
        return (0.0,) * len(pitches)
    places = range(1, len(pitches))
    leaps = [float(abs(pitches[k] - pitches[k - 1])) for k in places]
    times = [onsets[k] - onsets[k - 1] for k in places]
    rests = [max(0.0, onsets[k] - ends[k - 1]) for k in places]
    parts = [normalised(local_strengths(kind)) for kind in (leaps, times, rests)]
    together = [
        PITCH_WEIGHT * leap + ONSET_WEIGHT * time + REST_WEIGHT * rest
        for leap, time, rest in zip(*parts, strict=True)
    ]
    return (0.0, *together)


def attack_point_strength(before: float, middle: float, after: float) -> float:
    """Strength of a border in the middle one of three intervals between attacks; 0 at least."""
    if middle <= max(before, after):
        return 0.0
    return 1.0 - (before + after) / (2.0 * middle)


def _change(one: float, other: float) -> float:
    total = one + other
    return abs(one - other) / total if total else 0.0
