"""How a drill went: evenness inside the groups and the delay at their borders, try by try.

A take of a drill may hold many tries: each passage of the match is one. Times are compared with the
rhythm of the drill at the player's own tempo, so that long and short notes count alike:

- *tempo* of a try: time over written length of all intervals inside groups;
- *evenness*: standard deviation (n - 1) of what each interval inside a group has too much or too
  little, in ms, and the same relative to the interval (coefficient of variation);
- *delay at a border*: the time from the last note of a group to the next one, less what the rhythm
  asks for at that tempo; negative where the player hurries on.

Intervals after a note on which the drill stops are left out, and so are those with a missed note.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from statistics import median

from companion.analysis.grouping.drills import Drill, DrillStep
from companion.listening.notes import Match, Verdict

COMPLETE_FROM = 0.8
FEWEST_INTERVALS = 3
"""Fewer say nothing of evenness."""


@dataclass(frozen=True, slots=True)
class BorderDelay:
    """The wait before a group: ``note_id`` is the first note behind the border."""

    note_id: str
    delay_ms: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillTry:
    """One time through a drill.

    Parameters
    ----------
    passage
        Index of the passage in the match.
    complete
        Whether it was played from end to end: at least four fifths of its steps, and one of the
        first two and of the last two (a slip on the very last note does not undo a try).
    right, wrong, missed, added
        Counts of notes.
    quarters_per_minute
        Tempo inside the groups; None where it cannot be told.
    evenness_sd_ms, evenness_cv
        None with fewer than three intervals.
    borders
        In order; borders with a missed note are left out.
    """

    passage: int
    complete: bool
    right: int
    wrong: int
    missed: int
    added: int
    quarters_per_minute: float | None = None
    evenness_sd_ms: float | None = None
    evenness_cv: float | None = None
    intervals: int = 0
    borders: tuple[BorderDelay, ...] = ()

    @property
    def clean(self) -> bool:
        """Whether all of it was played, and nothing else."""
        return self.complete and not (self.wrong or self.missed or self.added)

    @property
    def border_delay_ms(self) -> float | None:
        """Median of the delays at its borders."""
        return median(border.delay_ms for border in self.borders) if self.borders else None


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillResult:
    """How a drill went in a take. Figures are medians over the complete tries."""

    drill_id: str
    tries: tuple[DrillTry, ...]

    @property
    def complete(self) -> tuple[DrillTry, ...]:
        """The tries that went from the first note to the last."""
        return tuple(one for one in self.tries if one.complete)

    @property
    def clean_count(self) -> int:
        """How many tries were complete and without errors."""
        return sum(one.clean for one in self.tries)

    @property
    def evenness_sd_ms(self) -> float | None:
        """Evenness inside the groups."""
        found = [one.evenness_sd_ms for one in self.complete if one.evenness_sd_ms is not None]
        return median(found) if found else None

    @property
    def evenness_cv(self) -> float | None:
        """Evenness inside the groups, relative."""
        found = [one.evenness_cv for one in self.complete if one.evenness_cv is not None]
        return median(found) if found else None

    @property
    def border_delay_ms(self) -> float | None:
        """Delay at the borders."""
        found = [border.delay_ms for one in self.complete for border in one.borders]
        return median(found) if found else None

    @property
    def quarters_per_minute(self) -> float | None:
        """Tempo inside the groups."""
        found = [
            one.quarters_per_minute for one in self.complete if one.quarters_per_minute is not None
        ]
        return median(found) if found else None


def judge_drill(drill: Drill, match: Match) -> DrillResult:
    """Judge every try of a drill.

    Parameters
    ----------
    match
        What the matcher made of the heard notes and ``drill.notes``.
    """
    heard: dict[int, dict[str, float]] = defaultdict(dict)
    counts: dict[int, dict[Verdict, int]] = defaultdict(lambda: defaultdict(int))
    for note in match.notes:
        counts[note.passage][note.verdict] += 1
        if note.verdict in (Verdict.RIGHT, Verdict.WRONG) and note.note_id is not None:
            heard[note.passage][note.note_id] = note.onset_seconds
    missed: dict[int, int] = defaultdict(int)
    for gone in match.missed:
        missed[gone.passage] += 1
    return DrillResult(
        drill_id=drill.drill_id,
        tries=tuple(
            _try(drill, index, heard[index], counts[index], missed[index])
            for index in (passage.index for passage in match.passages)
            if heard[index]
        ),
    )


@dataclass(frozen=True, slots=True)
class _Interval:
    """From one step to the next: written quarters, played seconds, and whether at a border."""

    quarters: float
    seconds: float
    border: bool
    note_id: str


def _try(
    drill: Drill,
    passage: int,
    heard: dict[str, float],
    counts: dict[Verdict, int],
    missed: int,
) -> DrillTry:
    times = [_time_of(step, heard) for step in drill.steps]
    found = _intervals(drill, times)
    inside = [interval for interval in found if not interval.border]
    one = DrillTry(
        passage=passage,
        complete=_complete(times),
        right=counts[Verdict.RIGHT],
        wrong=counts[Verdict.WRONG],
        missed=missed,
        added=counts[Verdict.ADDED],
    )
    if not inside:
        return one
    quarter_seconds = sum(i.seconds for i in inside) / sum(i.quarters for i in inside)
    sd_ms, cv = _evenness(inside, quarter_seconds)
    return DrillTry(
        passage=passage,
        complete=one.complete,
        right=one.right,
        wrong=one.wrong,
        missed=one.missed,
        added=one.added,
        quarters_per_minute=60.0 / quarter_seconds,
        evenness_sd_ms=sd_ms,
        evenness_cv=cv,
        intervals=len(inside),
        borders=tuple(
            BorderDelay(i.note_id, 1000.0 * (i.seconds - i.quarters * quarter_seconds))
            for i in found
            if i.border
        ),
    )


def _complete(times: list[float | None]) -> bool:
    played = [time is not None for time in times]
    enough = sum(played) >= max(2, int(COMPLETE_FROM * len(played)))
    return enough and any(played[:2]) and any(played[-2:])


def _time_of(step: DrillStep, heard: dict[str, float]) -> float | None:
    played = [heard[note_id] for note_id in step.note_ids if note_id in heard]
    return median(played) if played else None


def _intervals(drill: Drill, times: list[float | None]) -> list[_Interval]:
    found = []
    for (step, time), (following, later) in pairwise(zip(drill.steps, times, strict=True)):
        if time is None or later is None or step.held or later <= time:
            continue
        found.append(
            _Interval(
                quarters=float(following.onset_quarters - step.onset_quarters),
                seconds=later - time,
                border=step.group != following.group,
                note_id=following.note_ids[0],
            )
        )
    return found


def _evenness(inside: list[_Interval], quarter_seconds: float) -> tuple[float | None, float | None]:
    if len(inside) < FEWEST_INTERVALS:
        return None, None
    apart = [i.seconds - i.quarters * quarter_seconds for i in inside]
    relative = [a / (i.quarters * quarter_seconds) for a, i in zip(apart, inside, strict=True)]
    freedom = len(inside) - 1
    return (
        1000.0 * sqrt(sum(a * a for a in apart) / freedom),
        sqrt(sum(r * r for r in relative) / freedom),
    )
