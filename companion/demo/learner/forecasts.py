"""Forecasts of a run without a stop, and what came of them: to see whether they are honest.

A learner practises by some habit; on some days the readiness of the piece is told from the attempts
so far, and on the next day of practice a cold run is drawn from what is inside the learner.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from random import Random

from companion.demo.learner.courses import HABITS, Term, standings_of
from companion.demo.learner.learner import Learner
from companion.history.readiness.estimate import Readiness, readiness
from companion.history.readiness.evidence import section_evidence

LIKELY_HABITS = ("by our plan", "front to back", "going on in order", "playing through")


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """One forecast and its outcome.

    Parameters
    ----------
    probability, low, high
        What was told.
    true_probability
        What was inside the learner.
    held
        Whether the run that was drawn went without a stop.
    slips, true_slips
        Told, and expected inside the learner.
    """

    habit: str
    probability: float
    low: float
    high: float
    true_probability: float
    held: bool
    slips: float
    true_slips: float


def forecasts(seed: int, count: int = 4) -> tuple[Forecast, ...]:
    """Return forecasts on some days of the second half of one learner's term."""
    random = Random(seed)
    learner = Learner(seed)
    habit = random.choice(LIKELY_HABITS)
    term = Term(days=random.randint(20, 50), minutes=random.choice((30, 45, 60)))
    days = list(term.practice_days())
    asked = set(random.sample(days[len(days) // 2 :], min(count, len(days) // 2)))
    found = []
    for day in HABITS[habit](learner, term):
        if day in asked:
            tomorrow = day + timedelta(days=1)
            told = _told(learner, tomorrow)
            inside = learner.outlook(tomorrow)
            found.append(
                Forecast(
                    habit=habit,
                    probability=told.no_stop.probability,
                    low=told.no_stop.low,
                    high=told.no_stop.high,
                    true_probability=inside.no_stop,
                    held=random.random() < inside.no_stop,
                    slips=told.slips.mean,
                    true_slips=inside.expected_slips,
                )
            )
    return tuple(found)


def _told(learner: Learner, today: date) -> Readiness:
    standings = standings_of(learner, today)
    return readiness(
        [
            section_evidence(standings[section.section_id], section.notes, today)
            for section in learner.piece.sections
        ],
        today,
    )


def brier(found: Sequence[Forecast]) -> float:
    """Mean squared distance between forecast and outcome (Brier 1950, Mon. Weather Rev. 78:1-3)."""
    return sum((each.probability - each.held) ** 2 for each in found) / len(found)


def brier_of_base_rate(found: Sequence[Forecast]) -> float:
    """What somebody scores who always tells the share of runs that held."""
    rate = sum(each.held for each in found) / len(found)
    return rate * (1.0 - rate)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReliabilityBin:
    """Forecasts that told about the same: their mean, the share that held, the true mean."""

    count: int
    told: float
    held: float
    inside: float


def reliability(found: Sequence[Forecast], bins: int = 10) -> tuple[ReliabilityBin, ...]:
    """Return the reliability curve: bins with the same count of forecasts, in rising order."""
    ordered = sorted(found, key=lambda each: each.probability)
    edges = [len(ordered) * number // bins for number in range(bins + 1)]
    parts = [ordered[a:b] for a, b in pairwise(edges) if b > a]
    return tuple(
        ReliabilityBin(
            count=len(part),
            told=sum(each.probability for each in part) / len(part),
            held=sum(each.held for each in part) / len(part),
            inside=sum(each.true_probability for each in part) / len(part),
        )
        for part in parts
    )


def calibration_error(found: Sequence[Forecast], bins: int = 10) -> float:
    """Mean distance between what was told and what held, over the bins of the curve.

    The true probabilities stand for the outcomes: with few forecasts these are mostly chance.
    """
    curve = reliability(found, bins)
    return sum(each.count * abs(each.told - each.inside) for each in curve) / len(found)
