"""How long measuring takes: the index of a score, and one take against the number of its notes.

    python -m tests.benchmarks.measures

Prints the median of several runs; nothing is asserted.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

from companion.listening.measuring.measures import measure_take
from companion.listening.measuring.score_index import index_score
from tests.unit.listening.playing import Performance, invented_score, map_of

RUNS = 15


def median_ms(work: Callable[[], object]) -> float:
    """Median processor time of a piece of work in ms; other programs disturb it least."""
    times = []
    for _ in range(RUNS):
        begun = time.process_time()
        work()
        times.append(1000 * (time.process_time() - begun))
    return statistics.median(times)


def main() -> None:
    """Print the figures."""
    for measures in (80, 750):
        score = invented_score(measures)
        took = median_ms(lambda score=score: index_score(score))
        print(f"index of {len(score.notes)} written notes: {took:.1f} ms")
    score = invented_score(80)
    index = index_score(score)
    for sections in (1, 5, 20):
        section_map = map_of(score, *range(0, 80, 80 // sections))
        for quarters in (40, 164, 320):
            for restarts in (0, 2):
                performance = Performance(score).play(0, quarters, miss=("r1.3",), wrong=("l2.2",))
                for _ in range(restarts):
                    performance.pause(1.0).play(quarters - 8, quarters)
                heard, match = performance.finished()
                took = median_ms(
                    lambda heard=heard, match=match, section_map=section_map: measure_take(
                        score, section_map, heard, match, index=index
                    )
                )
                told = f"{len(heard)} played notes, {restarts} restarts, {sections} sections"
                print(f"{told}: {took:.1f} ms")


if __name__ == "__main__":
    main()
