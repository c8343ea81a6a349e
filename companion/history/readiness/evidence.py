"""What the readiness of a piece is told from: cold takes of its sections, weighed by age and tempo.

Conventions
-----------
- Only cold takes count (:mod:`companion.history.knowing.attempts`): what was practised ten minutes
  ago goes better than it will on the night.
- A cold take that is :data:`HALF_WEIGHT_DAYS` old counts half, because what was played since has
  changed the section. This half-life is shorter than that of retention: it was chosen on simulated
  learners so that the probability is calibrated (``tests/benchmarks/readiness.py``).
- A take that went well under tempo says little about the performance: its weight falls in a
  straight line to nothing at :data:`TEMPO_WITHOUT_WEIGHT`. A take that stopped even under tempo
  counts in full. (Project convention.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from companion.history.knowing.known import ColdTake
from companion.history.knowing.standing import SectionStanding

HALF_WEIGHT_DAYS = 4.0
TEMPO_WITH_FULL_WEIGHT = 0.95
TEMPO_WITHOUT_WEIGHT = 0.65


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionEvidence:
    """A section of the finest division and its cold takes.

    Parameters
    ----------
    notes
        Written notes in it.
    cold_takes
        One a day at most, in rising order.
    target_quarters_per_minute
        None when it has no target; tempo is then not judged.
    days_known
        0 while it is not known.
    """

    section_id: str
    name: str
    notes: int
    cold_takes: Sequence[ColdTake] = ()
    target_quarters_per_minute: float | None = None
    days_known: int = 0


@dataclass(frozen=True, slots=True)
class WeighedTake:
    """A cold take in the sums: did it go without a stop, its errors, and how much it counts."""

    day: date
    held: bool
    errors: int
    notes: int
    weight: float


def section_evidence(standing: SectionStanding, notes: int, today: date) -> SectionEvidence:
    """Return what is known of a section from how it stands."""
    return SectionEvidence(
        section_id=standing.section_id,
        name=standing.name,
        notes=notes,
        cold_takes=standing.cold_takes,
        target_quarters_per_minute=standing.target_quarters_per_minute,
        days_known=standing.days_known(today),
    )


def weighed(
    section: SectionEvidence, today: date, half_weight_days: float = HALF_WEIGHT_DAYS
) -> tuple[WeighedTake, ...]:
    """Return the cold takes until today with their weights, those without weight left out."""
    found = []
    for take in section.cold_takes:
        age_days = (today - take.day).days
        if age_days < 0:
            continue
        attempt = take.attempt
        held = attempt.complete and not attempt.began_again and attempt.stops == 0
        weight = 2.0 ** (-age_days / half_weight_days)
        if held:
            weight *= _tempo_weight(take, section.target_quarters_per_minute)
        if weight > 0:
            errors = attempt.wrong + attempt.missed + attempt.added
            found.append(WeighedTake(take.day, held, errors, attempt.expected, weight))
    return tuple(found)


def tempo_share_of(section: SectionEvidence) -> float | None:
    """Running tempo of the newest cold take that tells one, as a share of the target."""
    target = section.target_quarters_per_minute
    for take in reversed(section.cold_takes):
        tempo = take.attempt.running_tempo_quarters_per_minute
        if target and tempo is not None:
            return tempo / target
    return None


def _tempo_weight(take: ColdTake, target: float | None) -> float:
    tempo = take.attempt.running_tempo_quarters_per_minute
    if not target or tempo is None:
        return 1.0
    share = tempo / target
    span = TEMPO_WITH_FULL_WEIGHT - TEMPO_WITHOUT_WEIGHT
    return min(1.0, max(0.0, (share - TEMPO_WITHOUT_WEIGHT) / span))


def days_with_several(
    takes: Sequence[Sequence[WeighedTake]],
) -> dict[date, list[tuple[int, WeighedTake]]]:
    """Days on which two sections or more had a cold take, with (section index, take)."""
    found: dict[date, list[tuple[int, WeighedTake]]] = {}
    for index, of_section in enumerate(takes):
        for take in of_section:
            found.setdefault(take.day, []).append((index, take))
    return {day: rows for day, rows in sorted(found.items()) if len(rows) > 1}
