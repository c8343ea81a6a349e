"""How likely a cold take today comes out clean, always with its ground and its interval.

- :func:`retention` weighs the dated cold takes: one that is a week old counts half (an exponential
  forgetting of *evidence*, project convention), upon an even prior Beta(1, 1). The interval is the
  central one of the posterior.
- :func:`wilson_interval` (Wilson 1927, J. Am. Stat. Assoc. 22:209-212) and
  :func:`jeffreys_interval` (as in Brown, Cai & DasGupta 2001, Statistical Science 16:101-133) are
  for plain counts: so many clean ones of so many.

This is a probability. When to come back to a section is another question, and asked elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from math import sqrt
from statistics import NormalDist

from companion.history.knowing.known import ColdTake, days_and_clean

HALF_WEIGHT_DAYS = 7.0
"""Age of a cold take that counts half (project convention)."""

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A probability, the count of observations it rests on, its interval ``low`` to ``high``."""

    probability: float
    low: float
    high: float
    count: int


def retention(
    cold: Iterable[ColdTake], today: date, half_weight_days: float = HALF_WEIGHT_DAYS
) -> Estimate:
    """Return the probability that a cold take today would be clean.

    Cold takes after ``today`` are left out, so that the past can be asked as well.
    """
    clean = missed = 1.0
    count = 0
    for day, was_clean in days_and_clean(cold):
        age_days = (today - day).days
        if age_days < 0:
            continue
        weight = 2.0 ** (-age_days / half_weight_days)
        count += 1
        if was_clean:
            clean += weight
        else:
            missed += weight
    low, high = _central_interval(clean, missed)
    return Estimate(probability=clean / (clean + missed), low=low, high=high, count=count)


def wilson_interval(
    successes: int, trials: int, confidence: float = CONFIDENCE
) -> tuple[float, float]:
    """Return the score interval of a share; (0, 1) without trials."""
    _check(successes, trials)
    if not trials:
        return 0.0, 1.0
    z = NormalDist().inv_cdf(0.5 + confidence / 2.0)
    share = successes / trials
    scale = 1.0 + z * z / trials
    centre = (share + z * z / (2.0 * trials)) / scale
    half = z * sqrt(share * (1.0 - share) / trials + z * z / (4.0 * trials * trials)) / scale
    low = 0.0 if successes == 0 else max(centre - half, 0.0)
    high = 1.0 if successes == trials else min(centre + half, 1.0)
    return low, high


def jeffreys_interval(
    successes: int, trials: int, confidence: float = CONFIDENCE
) -> tuple[float, float]:
    """Return the equal-tailed interval of a share with Jeffreys' prior; (0, 1) without trials."""
    _check(successes, trials)
    if not trials:
        return 0.0, 1.0
    low, high = _central_interval(successes + 0.5, trials - successes + 0.5, confidence)
    return (0.0 if successes == 0 else low), (1.0 if successes == trials else high)


def _check(successes: int, trials: int) -> None:
    if not 0 <= successes <= trials:
        raise ValueError("successes are between none and all of the trials")


def _central_interval(
    clean: float, missed: float, confidence: float = CONFIDENCE
) -> tuple[float, float]:
    from scipy.special import betaincinv  # here: half a megabyte of code that few starts need

    tail = (1.0 - confidence) / 2.0
    return float(betaincinv(clean, missed, tail)), float(betaincinv(clean, missed, 1.0 - tail))
