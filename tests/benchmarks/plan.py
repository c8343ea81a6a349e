"""Does the plan work? Simulated learners practise by it and by simpler habits, the same minutes.

Usage: python -m tests.benchmarks.plan [--learners N] [--days N] [--minutes N]
    [--sections FEWEST MOST]

Every learner (seeded; companion/demo/learner) practises one piece five times from nothing: by the
plan of each day, front to back, in order going on, the hardest in a block, and playing through. At
the date: the probability of a run without a stop and the expected slips, from inside the learner,
means with 95 % intervals (bootstrap over learners); the same as differences to our plan, learner by
learner; and whether the hardest sections are those known longest (Kendall's tau-b between the
estimated workload and the days known). What the figures mean is said in the simulation's own
docstrings: its law was fitted to vocabulary, every kind of practice is worth the same in it, and
playing wrong does no harm.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass

import numpy as np

from companion.demo.learner.courses import HABITS, Habit, Term, days_known, practise
from companion.demo.learner.learner import Learner
from companion.demo.learner.piece import SECTION_COUNTS
from companion.history.knowing.order import kendall_tau_b

OURS = "by our plan"
FIRST_SEED = 20_000


@dataclass(frozen=True)
class Figures:
    no_stop: float
    slips: float
    tau: float | None
    known_share: float


def figures_of(seed: int, habit: Habit, term: Term, counts: tuple[int, int]) -> Figures:
    learner = Learner(seed, counts)
    outlook = practise(learner, habit, term)
    days = days_known(learner, term.performance)
    sections = learner.piece.sections
    return Figures(
        no_stop=outlook.no_stop,
        slips=outlook.expected_slips,
        tau=kendall_tau_b([s.estimated for s in sections], [days[s.section_id] for s in sections]),
        known_share=sum(value > 0 for value in days.values()) / len(days),
    )


def interval(values: list[float]) -> tuple[float, float, float]:
    array = np.array(values)
    generator = np.random.default_rng(1)
    means = array[generator.integers(0, len(array), (2000, len(array)))].mean(axis=1)
    low, high = np.quantile(means, [0.025, 0.975])
    return float(array.mean()), float(low), float(high)


def told(values: list[float], digits: int = 3) -> str:
    mean, low, high = interval(values)
    return f"{mean:.{digits}f} ({low:.{digits}f} to {high:.{digits}f})"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--learners", type=int, default=200)
    parser.add_argument("--days", type=int, default=35)
    parser.add_argument("--minutes", type=int, default=45)
    parser.add_argument("--sections", type=int, nargs=2, default=SECTION_COUNTS)
    options = parser.parse_args()
    counts = (options.sections[0], options.sections[1])
    term = Term(days=options.days, minutes=options.minutes)
    seeds = range(FIRST_SEED, FIRST_SEED + options.learners)
    found: dict[str, list[Figures]] = {}
    for name, habit in HABITS.items():
        begin = time.process_time()
        found[name] = [figures_of(seed, habit, term, counts) for seed in seeds]
        print(f"({name}: {time.process_time() - begin:.0f} s)", flush=True)
    print(
        f"\n{options.learners} learners, {options.days} days, {options.minutes} minutes a day",
        end=", ",
    )
    print(f"pieces of {counts[0]} to {counts[1]} sections")
    for name, rows in found.items():
        taus = [row.tau for row in rows if row.tau is not None]
        print(
            f"{name:20} run without a stop {told([r.no_stop for r in rows])}"
            f"   slips {told([r.slips for r in rows], 1)}"
            f"   known {told([r.known_share for r in rows], 2)}"
            f"   hardest known longest, tau {told(taus, 2) if taus else '-'}"
        )
    print("\nOur plan against each habit, learner by learner (above 0: more runs, fewer slips)")
    for name, rows in found.items():
        if name == OURS:
            continue
        runs = [o.no_stop - r.no_stop for o, r in zip(found[OURS], rows, strict=True)]
        slips = [r.slips - o.slips for o, r in zip(found[OURS], rows, strict=True)]
        better = sum(each > 0 for each in runs) / len(runs)
        print(f"{name:20} {told(runs)}   {told(slips, 1)}   better for {100 * better:.0f} %")


if __name__ == "__main__":
    main()
