"""Is the readiness honest? Forecasts for simulated learners beside what came of them.

Usage: python -m tests.benchmarks.readiness [--learners N]

The learners (seeded; companion/demo/learner) are others than those that the estimate was fitted on;
each practises by one of four habits, and is asked on four days of the second half of the term. The
cold run of the next day is drawn from inside the learner. Printed: Brier score beside that of the
base rate and of somebody who sees inside; the reliability curve in ten parts; how often the 95 %
interval holds the probability inside; slips told and slips inside.
"""

from __future__ import annotations

import argparse
import time

from companion.demo.learner.forecasts import (
    LIKELY_HABITS,
    Forecast,
    brier,
    brier_of_base_rate,
    calibration_error,
    forecasts,
    reliability,
)

FIRST_SEED = 50_000


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--learners", type=int, default=200)
    options = parser.parse_args()
    begin = time.process_time()
    found = [
        each
        for seed in range(FIRST_SEED, FIRST_SEED + options.learners)
        for each in forecasts(seed)
    ]
    print(f"{len(found)} forecasts for {options.learners} learners", end=", ")
    print(f"{time.process_time() - begin:.0f} s of processor time")
    seeing = sum((each.true_probability - each.held) ** 2 for each in found) / len(found)
    print(
        f"Brier score {brier(found):.4f}, base rate {brier_of_base_rate(found):.4f}, "
        f"seeing inside {seeing:.4f}"
    )
    print(f"calibration error {calibration_error(found):.3f}")
    inside = sum(each.low <= each.true_probability <= each.high for each in found)
    print(f"the 95 % interval holds the probability inside in {100 * inside / len(found):.0f} %")
    ratio = sum(each.slips for each in found) / sum(each.true_slips for each in found)
    print(f"slips told / slips inside {ratio:.2f}")
    print("\n  told   held  inside   count")
    for part in reliability(found):
        print(f"  {part.told:.3f}  {part.held:.3f}  {part.inside:.3f}   {part.count}")
    print("\nby habit: told, inside")
    for habit in LIKELY_HABITS:
        print(f"  {habit:20} {_means([each for each in found if each.habit == habit])}")


def _means(found: list[Forecast]) -> str:
    if not found:
        return "-"
    told = sum(each.probability for each in found) / len(found)
    inside = sum(each.true_probability for each in found) / len(found)
    return f"{told:.3f}  {inside:.3f}  ({len(found)})"


if __name__ == "__main__":
    main()
