"""How ready a piece is: the run without a stop, the slips, the weakest link, what would help most.

Everything is told with what it rests on: the count of cold takes and an interval. The numbers are
about a run *as at home*: nerves, another piano and an audience are not in them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from companion.history.knowing.retention import CONFIDENCE, Estimate, wilson_interval
from companion.history.readiness.evidence import (
    HALF_WEIGHT_DAYS,
    SectionEvidence,
    tempo_share_of,
    weighed,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SURE = 0.98
"""Probability of a section that is as sure as can be hoped for (project convention)."""

READY = 0.9
"""A run without a stop nine times in ten (project convention)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """An expected number with its interval, and the count of cold takes it rests on."""

    mean: float
    low: float
    high: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionReadiness:
    """How ready one section is.

    Parameters
    ----------
    no_stop
        Probability that it goes without a stop at first try.
    slips
        Expected errors once through.
    tempo_share
        Of its target; None where that cannot be told.
    days_known
        0 while it is not known.
    run_if_sure
        Probability of a run without a stop if this section were as sure as :data:`SURE`.
    """

    section_id: str
    name: str
    no_stop: Estimate
    slips: Expected
    tempo_share: float | None
    days_known: int
    run_if_sure: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunThroughs:
    """Whole runs that were played cold: how many, and how many of them without a stop."""

    count: int = 0
    without_stop: int = 0

    @property
    def interval(self) -> tuple[float, float]:
        """Wilson interval of the share without a stop."""
        return wilson_interval(self.without_stop, self.count)


@dataclass(frozen=True, slots=True, kw_only=True)
class Readiness:
    """How ready the piece is.

    Parameters
    ----------
    no_stop
        Probability that a cold run goes without a stop; the count is that of the cold takes.
    slips
        Expected errors in a run.
    needed_each
        Probability that each section would need for a run that succeeds nine times in ten, were
        all alike and independent.
    sections
        In the order of the piece.
    correlation
        Between sections on a day: good days and bad days.
    run_throughs
        What whole runs came to, as a check of the estimate.
    """

    today: date
    no_stop: Estimate
    slips: Expected
    needed_each: float
    sections: tuple[SectionReadiness, ...]
    correlation: float
    run_throughs: RunThroughs = RunThroughs()

    @property
    def weakest(self) -> SectionReadiness | None:
        """The section that is most likely to stop a run; None without sections."""
        return min(self.sections, key=lambda each: each.no_stop.probability, default=None)

    @property
    def would_help_most(self) -> tuple[SectionReadiness, ...]:
        """Sections by how much a run would gain were they sure, the most first."""
        return tuple(sorted(self.sections, key=lambda each: -each.run_if_sure))

    @property
    def never_played_cold(self) -> tuple[SectionReadiness, ...]:
        """Sections of which nothing is known."""
        return tuple(each for each in self.sections if not each.no_stop.count)


def readiness(
    sections: Iterable[SectionEvidence],
    today: date,
    *,
    run_throughs: RunThroughs | None = None,
    half_weight_days: float = HALF_WEIGHT_DAYS,
) -> Readiness:
    """Return how ready the piece is today.

    Parameters
    ----------
    sections
        The finest division in the order of the piece.
    run_throughs
        Whole cold runs of the last weeks, shown beside the estimate.
    """
    from companion.history.readiness.no_stop import no_stop, run_probability, shifted
    from companion.history.readiness.slips import slips

    listed = tuple(sections)
    if not listed:
        nothing = Estimate(probability=0.0, low=0.0, high=1.0, count=0)
        none = Expected(mean=0.0, low=0.0, high=0.0, count=0)
        return Readiness(
            today=today,
            no_stop=nothing,
            slips=none,
            needed_each=READY,
            sections=(),
            correlation=0.0,
        )
    takes = [weighed(section, today, half_weight_days) for section in listed]
    found = no_stop(takes)
    errors = slips(takes, [section.notes for section in listed])
    counts = [len(of_section) for of_section in takes]
    means = found.sections.mean(axis=0)
    rows = []
    for number, section in enumerate(listed):
        sure = means.copy()
        sure[number] = max(SURE, sure[number])
        rows.append(
            SectionReadiness(
                section_id=section.section_id,
                name=section.name,
                no_stop=_estimate(found.sections[:, number], counts[number]),
                slips=_expected(errors[:, number], counts[number]),
                tempo_share=tempo_share_of(section),
                days_known=section.days_known,
                run_if_sure=float(shifted(run_probability(sure, found.correlation))),
            )
        )
    return Readiness(
        today=today,
        no_stop=_estimate(found.runs, sum(counts)),
        slips=_expected(errors.sum(axis=1), sum(counts)),
        needed_each=needed_each(len(listed)),
        sections=tuple(rows),
        correlation=found.correlation,
        run_throughs=run_throughs or RunThroughs(),
    )


def needed_each(section_count: int, overall: float = READY) -> float:
    """Return what each of so many alike, independent sections needs: ``overall ** (1 / n)``."""
    return float(overall ** (1.0 / max(section_count, 1)))


def product_of(probabilities: Sequence[float]) -> float:
    """Return the probability that all succeed when they are independent."""
    total = 1.0
    for probability in probabilities:
        total *= probability
    return total


def _estimate(draws: NDArray[np.float64], count: int) -> Estimate:
    low, high = _interval(draws)
    return Estimate(probability=float(draws.mean()), low=low, high=high, count=count)


def _expected(draws: NDArray[np.float64], count: int) -> Expected:
    low, high = _interval(draws)
    return Expected(mean=float(draws.mean()), low=low, high=high, count=count)


def _interval(draws: NDArray[np.float64]) -> tuple[float, float]:
    import numpy as np

    tail = (1.0 - CONFIDENCE) / 2.0
    low, high = np.quantile(draws, [tail, 1.0 - tail])
    return float(low), float(high)
