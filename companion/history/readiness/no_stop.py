"""The probability that a run through all sections goes without a stop.

The model
---------
- Section *s* goes without a stop with probability p_s. The p_s of a piece are alike: they come from
  one Beta distribution with mean *m* and strength *k*, both unknown (a hierarchical beta-binomial
  model as in Gelman et al., *Bayesian Data Analysis*, ch. 5). Sections with few takes lean on the
  others, sections with many stand for themselves. *m* and *k* are summed over a grid.
- Sections do not go well or badly independently: there are good days and bad days. A common factor
  (a Gaussian copula with one factor, correlation *r*) ties them together and leaves each p_s as it
  is: P(run) = E_z prod_s Phi((Phi^-1(p_s) + sqrt(r) z) / sqrt(1 - r)). *r* is estimated from days
  on which several sections had cold takes, leaning on :data:`USUAL_CORRELATION`.
- What is told so is too low, because practice goes on after the takes that it rests on, and because
  the doubt about each section counts once for each: the log odds of a run are raised by
  :data:`RUN_SHIFT`. That is the one figure here that was fitted, on simulated learners; those that
  it is checked on are others (``tests/benchmarks/readiness.py``).
- The interval comes from draws of the posterior, with a fixed seed: the same takes always give the
  same answer.

With r = 0 and sure p_s the probability is their product: eight sections at .95 give .6634.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from companion.history.readiness.evidence import WeighedTake, days_with_several

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

USUAL_CORRELATION = 0.25
"""Correlation between sections on a day where little is known (project convention)."""

PRIOR_HELD, PRIOR_STOPPED = 0.3, 0.3
"""Beta prior of the mean: a half at first, and soon forgotten. With one pseudo-take on each side
a run of eight sections was told much too low, because the doubt counts eight times."""

RUN_SHIFT = 0.34
"""Raises the log odds of a run (fitted on 60 simulated learners, scale 0.99 left at 1)."""

_STRENGTHS = (1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0)
_MEANS = 45
_CORRELATIONS = (0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)
_DRAWS = 4000
_SEED = 20260302
_NODES = 15


@dataclass(frozen=True, slots=True, kw_only=True)
class NoStop:
    """The posterior of all sections, as draws.

    Parameters
    ----------
    sections
        shape=(draws, sections): probabilities of going without a stop.
    runs
        shape=(draws,): those of a run through all of them.
    correlation
        Between sections on a day.
    """

    sections: NDArray[np.float64]
    runs: NDArray[np.float64]
    correlation: float


def no_stop(takes: Sequence[Sequence[WeighedTake]]) -> NoStop:
    """Return the posterior from the weighed cold takes of each section.

    Parameters
    ----------
    takes
        One sequence for each section of the run, empty where it was never played cold.
    """
    import numpy as np  # here: few starts need it

    held = np.array([sum(t.weight for t in of if t.held) for of in takes])
    stopped = np.array([sum(t.weight for t in of if not t.held) for of in takes])
    generator = np.random.default_rng(_SEED)
    a, b = _drawn_prior(held, stopped, generator)
    sections = generator.beta(a[:, None] + held, b[:, None] + stopped)
    correlation = _correlation(takes, sections.mean(axis=0))
    runs = run_probability(sections, correlation)
    return NoStop(
        sections=sections,
        runs=shifted(runs) if any(takes) else runs,
        correlation=correlation,
    )


def run_probability(sections: NDArray[np.float64], correlation: float) -> NDArray[np.float64]:
    """Return the probability that every section goes without a stop on one day.

    Parameters
    ----------
    sections
        shape=(..., n): probabilities of the sections.
    correlation
        0 (independent) up to but not including 1.
    """
    import numpy as np
    from scipy.special import ndtr, ndtri

    safe = np.clip(sections, 1e-9, 1.0 - 1e-9)
    if correlation <= 0:
        product: NDArray[np.float64] = np.prod(safe, axis=-1)
        return product
    nodes, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    weights = weights / weights.sum()
    total = np.zeros(safe.shape[:-1])
    scale = np.sqrt(1.0 - correlation)
    latent = ndtri(safe)
    for node, weight in zip(nodes, weights, strict=True):
        total += weight * np.prod(ndtr((latent + np.sqrt(correlation) * node) / scale), axis=-1)
    return total


def shifted(runs: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return probabilities of a run with their log odds raised by :data:`RUN_SHIFT`."""
    import numpy as np
    from scipy.special import expit, logit

    raised: NDArray[np.float64] = expit(logit(np.clip(runs, 1e-12, 1.0 - 1e-12)) + RUN_SHIFT)
    return raised


def _drawn_prior(
    held: NDArray[np.float64], stopped: NDArray[np.float64], generator: np.random.Generator
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Draws of the piece's Beta distribution given all sections."""
    import numpy as np
    from scipy.special import betaln, expit

    means = expit(np.linspace(-5.5, 5.5, _MEANS))
    strengths = np.array(_STRENGTHS)
    a = (means[:, None] * strengths).ravel()
    b = ((1.0 - means[:, None]) * strengths).ravel()
    # the grid is even in the logit of the mean: m (1 - m) makes the prior even in m
    prior = PRIOR_HELD * np.log(means) + PRIOR_STOPPED * np.log1p(-means)
    log_weight = np.repeat(prior, len(strengths))
    log_weight += (betaln(a[:, None] + held, b[:, None] + stopped)).sum(axis=1)
    log_weight -= len(held) * betaln(a, b)
    weight = np.exp(log_weight - log_weight.max())
    chosen = generator.choice(len(a), size=_DRAWS, p=weight / weight.sum())
    return a[chosen], b[chosen]


def _correlation(
    takes: Sequence[Sequence[WeighedTake]], probabilities: NDArray[np.float64]
) -> float:
    """Posterior mean of the correlation on its grid, the prior falling off exponentially."""
    import numpy as np
    from scipy.special import ndtr, ndtri

    grid = np.array(_CORRELATIONS)
    log_weight = -grid / USUAL_CORRELATION
    nodes, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    weights = weights / weights.sum()
    latent = ndtri(np.clip(probabilities, 1e-6, 1.0 - 1e-6))
    for rows in days_with_several(takes).values():
        places = [index for index, _ in rows]
        sign = np.array([1.0 if take.held else -1.0 for _, take in rows])
        share = float(np.mean([take.weight for _, take in rows]))
        for number, correlation in enumerate(grid):
            shifted = latent[places] + np.sqrt(correlation) * nodes[:, None]
            likely = ndtr(sign * shifted / np.sqrt(1.0 - correlation)).prod(axis=1)
            log_weight[number] += share * float(np.log(max(weights @ likely, 1e-300)))
    weight = np.exp(log_weight - log_weight.max())
    return float((weight * grid).sum() / weight.sum())
