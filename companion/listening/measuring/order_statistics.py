"""Median and percentile of short arrays: as numpy's, but several times faster below 1,000 values.

A take is measured in dozens of sections, and numpy's own functions spend 20 to 50 microseconds on
their arguments each time.
"""

from __future__ import annotations

import numpy as np

from companion.listening.measuring.score_index import Floats


def percentile(values: Floats, percent: float) -> float | None:
    """Percentile with linear interpolation, ``numpy.percentile``; None without values."""
    return _at(np.sort(values), percent)


def percentiles(values: Floats, low: float, high: float) -> tuple[float | None, float | None]:
    """Two percentiles at once."""
    ordered = np.sort(values)
    return _at(ordered, low), _at(ordered, high)


def median(values: Floats) -> float | None:
    """Median, ``numpy.median``; None without values."""
    return percentile(values, 50.0)


def mean(values: Floats) -> float | None:
    """Arithmetic mean; None without values."""
    return float(values.sum()) / len(values) if len(values) else None


def _at(ordered: Floats, percent: float) -> float | None:
    if not len(ordered):
        return None
    place = (len(ordered) - 1) * percent / 100.0
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    low = float(ordered[below])
    return low + (float(ordered[above]) - low) * (place - below)
