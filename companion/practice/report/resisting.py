"""Passages that resist: measures in which errors come again on other days.

A measure resists when errors were made in it on at least two days, and in at least half of the last
:data:`LAST_TAKES` takes that went through it (project conventions: once is chance, and what was
repaired last week does not resist any more). Neighbours are one passage.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from companion.history.summaries import COUNTS_OF_A_MEASURE
from companion.practice.report.values import ResistingPassage

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LAST_TAKES = 6
FEWEST_DAYS = 2
MOST_PASSAGES = 6
_GAP = 2  # neighbours, and measures with one between them

_MEASURE, _PLAYS = (COUNTS_OF_A_MEASURE.index(name) for name in ("measure_index", "plays"))
_ERRORS = [COUNTS_OF_A_MEASURE.index(name) for name in ("wrong", "missed", "added")]


@dataclass(frozen=True, slots=True)
class TakeCounts:
    """The counts per measure of one take, columns as ``summaries.COUNTS_OF_A_MEASURE``."""

    day: date
    counts: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class _Measure:
    index: int
    plays: int
    errors_per_play: float
    days: int


def resisting_passages(
    takes: Iterable[TakeCounts],
    measure_numbers: Sequence[str],
    section_names: Sequence[Sequence[str]],
) -> tuple[ResistingPassage, ...]:
    """Return the passages that resist, the worst first.

    Parameters
    ----------
    takes
        Those of the period, oldest first.
    measure_numbers, section_names
        Printed number of each measure, and the sections around it, the innermost first, by index.
    """
    found: list[list[_Measure]] = []
    for measure in _resisting(takes, len(measure_numbers)):
        if found and measure.index - found[-1][-1].index <= _GAP:
            found[-1].append(measure)
        else:
            found.append([measure])
    passages = [
        ResistingPassage(
            from_measure=measure_numbers[group[0].index],
            to_measure=measure_numbers[group[-1].index],
            section=_around(section_names[group[0].index], section_names[group[-1].index]),
            plays=max(measure.plays for measure in group),
            errors_per_play=max(measure.errors_per_play for measure in group),
            days=max(measure.days for measure in group),
        )
        for group in found
    ]
    passages.sort(key=lambda passage: -passage.errors_per_play)
    return tuple(passages[:MOST_PASSAGES])


def _around(first: Sequence[str], last: Sequence[str]) -> str:
    """The innermost section that holds both ends of a passage; empty for none."""
    return next((name for name in first if name in last), "")


def _resisting(takes: Iterable[TakeCounts], measure_count: int) -> list[_Measure]:
    plays: dict[int, list[tuple[date, int, int]]] = defaultdict(list)
    for take in takes:
        for row in take.counts.tolist():
            if row[_PLAYS] and 0 <= row[_MEASURE] < measure_count:
                errors = sum(row[column] for column in _ERRORS)
                plays[row[_MEASURE]].append((take.day, row[_PLAYS], errors))
    found = []
    for index, through in sorted(plays.items()):
        days = {day for day, _, errors in through if errors}
        last = through[-LAST_TAKES:]
        with_errors = sum(errors > 0 for _, _, errors in last)
        if len(days) >= FEWEST_DAYS and 2 * with_errors >= len(last):
            found.append(
                _Measure(
                    index=index,
                    plays=sum(count for _, count, _ in through),
                    errors_per_play=sum(errors for _, _, errors in last)
                    / sum(count for _, count, _ in last),
                    days=len(days),
                )
            )
    return found
