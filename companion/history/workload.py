"""What practice says about how hard a section is, and how it corrects the estimate from the score.

An estimate from the score explains less than half of what makes music hard, so what was heard takes
over as takes arrive. The estimate counts as much as :data:`ESTIMATE_COUNTS` takes (our own choice:
after three takes practice and estimate weigh the same), and takes lose half of their weight with
every :data:`HALF_LIFE_TAKES` newer ones, so that a section that has become easy is told as such.

What is seen in a take is put on the same scale from 1 to 5 (:func:`observed_level`): 1 is a take
without errors at the target tempo; errors and the missing tempo add up, and half of the way to 5 is
reached at 8 errors in 100 notes, or at a tempo that is 30 % below the target.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp2, log2

from companion.analysis.workload.model import Workload
from companion.analysis.workload.ranking import HIGHEST_LEVEL, LOWEST_LEVEL, ranks_of
from companion.history.results import SectionResult, Stretch
from companion.listening.notes import Hands
from companion.score.sections.section_map import SectionMap

ESTIMATE_COUNTS = 3.0
HALF_LIFE_TAKES = 5.0
ERRORS_HALF_WAY = 8.0
TEMPO_HALF_WAY = 0.5
"""Octaves of tempo (factors of two): half an octave is a tempo 29 % below the target."""

SMALLEST_COVERAGE = 0.5
"""Takes that touched less of a section say too little about it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed:
    """What one take showed of a section.

    Parameters
    ----------
    errors_per_100
        Wrong, missed and added notes for every 100 expected ones.
    tempo_share
        Running tempo as a share of the target; None where it cannot be told.
    """

    errors_per_100: float
    tempo_share: float | None = None


def observed_level(observed: Observed) -> float:
    """How hard a take shows a section to be: 1 (no errors, at tempo) up to 5."""
    strain = observed.errors_per_100 / ERRORS_HALF_WAY
    if observed.tempo_share is not None and observed.tempo_share > 0:
        strain += max(0.0, -log2(observed.tempo_share)) / TEMPO_HALF_WAY
    return LOWEST_LEVEL + (HIGHEST_LEVEL - LOWEST_LEVEL) * (1.0 - exp2(-strain))


def corrected_level(estimate: float, takes: Sequence[Observed]) -> float:
    """The level after some takes, oldest first; the estimate itself where there are none."""
    count = len(takes)
    weights = [exp2(-(count - 1 - k) / HALF_LIFE_TAKES) for k in range(count)]
    seen = sum(weight * observed_level(take) for weight, take in zip(weights, takes, strict=True))
    return (ESTIMATE_COUNTS * estimate + seen) / (ESTIMATE_COUNTS + sum(weights))


def correct_workload(
    workload: Workload,
    section_map: SectionMap,
    takes: Mapping[str, Sequence[Observed]],
) -> Workload:
    """Let takes correct the levels, the work and the order of the sections.

    Parameters
    ----------
    takes
        By section id, oldest first; sections that are missing keep their estimate.
    """
    sections = []
    for section in workload.sections:
        seen = takes.get(section.section_id, ())
        if seen:
            level = corrected_level(section.level, seen)
            section = replace(
                section,
                level=level,
                work=level * section.features.effective_notes,
                corrected=True,
            )
        sections.append(section)
    ranks = ranks_of(sections, section_map, lambda section: section.level)
    return replace(
        workload,
        sections=tuple(replace(s, rank=ranks[s.section_id]) for s in sections),
    )


def takes_of_sections(
    section_map: SectionMap,
    results: Iterable[SectionResult],
    targets: Mapping[str, float | None],
) -> dict[str, tuple[Observed, ...]]:
    """What stored results show of each section, oldest first.

    Parameters
    ----------
    results
        Rows of the history, in any order; takes with one hand alone and takes that covered less
        than half of a section are left out.
    targets
        Target tempo by section id in quarters a minute, None where there is none.
    """
    of_stretch: dict[Stretch, list[SectionResult]] = {}
    for row in results:
        if row.hands is Hands.BOTH and row.coverage >= SMALLEST_COVERAGE and row.expected:
            of_stretch.setdefault(row.stretch, []).append(row)
    found = {}
    for section in section_map.sections:
        rows = sorted(of_stretch.get(Stretch.of(section), ()), key=lambda row: row.started_at)
        if rows:
            target = targets.get(section.section_id)
            found[section.section_id] = tuple(_observed(row, target) for row in rows)
    return found


def _observed(row: SectionResult, target: float | None) -> Observed:
    tempo = row.running_tempo_quarters_per_minute
    return Observed(
        errors_per_100=100.0 * (row.wrong + row.missed + row.added) / row.expected,
        tempo_share=tempo / target if tempo and target else None,
    )
