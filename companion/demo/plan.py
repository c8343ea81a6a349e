"""What the demo's pianist practised on which day: invented, and the same at every start.

The story of the study: a dozen days before today it is read, hands separately at first; the outer
parts settle within a week, the middle part follows, and the coda, the hardest page, stays behind
although most of the work goes into it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time

from companion.demo.skill import Skill
from companion.listening.notes import Hands
from companion.score.model import CueKind, Score

BEGINNING = Skill(
    tempo_share=0.70,
    wrong_per_100=2.6,
    left_out_per_100=1.6,
    added_per_100=1.4,
    hesitations_per_100=1.6,
    stops_per_100=0.7,
    caution=0.18,
)
SETTLED = Skill(
    tempo_share=1.06,
    wrong_per_100=0.3,
    left_out_per_100=0.25,
    added_per_100=0.2,
    hesitations_per_100=0.1,
    stops_per_100=0.02,
    caution=0.08,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTake:
    """One take: which section by its rehearsal mark (empty: the whole piece), and which hands."""

    section: str = ""
    hands: Hands = Hands.BOTH


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedDay:
    """One day of practice, counted back from today."""

    days_before: int
    begins: time
    takes: tuple[PlannedTake, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PiecePlan:
    """All demo practice of one sample score.

    ``trouble`` is the factor on mistakes by rehearsal mark; ``pedal`` whether it is used.
    """

    days: tuple[PlannedDay, ...]
    trouble: Mapping[str, float]
    pedal: bool = False


def _day(days_before: int, begins: str, *takes: str) -> PlannedDay:
    """Takes in short: "" the whole, "Coda", "Coda left"."""
    planned = []
    for text in takes:
        section, _, hand = text.partition(" ")
        planned.append(PlannedTake(section=section, hands=Hands(hand) if hand else Hands.BOTH))
    return PlannedDay(
        days_before=days_before, begins=time.fromisoformat(begins), takes=tuple(planned)
    )


PLANS: Mapping[str, PiecePlan] = {
    "study_in_d_minor": PiecePlan(
        days=(
            _day(12, "17:05", "A right", "A left", "A", "B right"),
            _day(11, "18:20", "", "Coda right", "Coda left"),
            _day(9, "17:40", "", "Coda left", "Coda"),
            _day(8, "16:55", "", "B", "Coda"),
            _day(6, "18:10", "", "Coda", "Coda"),
            _day(4, "17:30", "", "C", "Coda"),
            _day(2, "17:15", "", "Coda", "Coda"),
            _day(1, "18:00", "", "Coda", ""),
        ),
        trouble={"A": 0.6, "B": 0.7, "C": 0.5, "D": 1.0, "Coda": 3.6},
    ),
    "invention_in_e_minor": PiecePlan(
        days=(
            _day(7, "18:45", "A right", "A left", ""),
            _day(5, "17:20", "", "D"),
            _day(3, "17:50", ""),
            _day(1, "18:40", ""),
        ),
        trouble={"D": 1.8, "E": 1.4},
    ),
    "evening_by_the_weir": PiecePlan(
        days=(_day(6, "19:05", "", "B"), _day(4, "18:30", ""), _day(2, "18:20", "", "C")),
        trouble={"B": 1.5, "C": 1.7},
        pedal=True,
    ),
    "minuet_and_trio_in_d_major": PiecePlan(
        days=(_day(9, "18:30", ""), _day(6, "17:10", ""), _day(3, "18:15", "")),
        trouble={"Trio": 1.3},
    ),
    "waltz_at_the_ferry": PiecePlan(
        days=(_day(5, "18:35", "", "B"), _day(2, "18:50", "")),
        trouble={"C": 1.4},
        pedal=True,
    ),
    "the_footbridge": PiecePlan(
        days=(_day(11, "17:50", ""), _day(8, "17:35", ""), _day(4, "18:25", "")),
        trouble={},
    ),
}


def measures_of_section(score: Score, name: str) -> tuple[int, int]:
    """First and last measure index from a rehearsal mark to the next; KeyError for no such mark."""
    marks = [
        (c.text, c.position.measure_index) for c in score.cues if c.kind is CueKind.REHEARSAL_MARK
    ]
    starts = [index for _, index in marks]
    first = dict(marks)[name]
    following = [index for index in starts if index > first]
    return first, (min(following) if following else len(score.measures)) - 1


def trouble_by_measure(score: Score, plan: PiecePlan) -> dict[int, float]:
    """The plan's factors for single measures."""
    factors: dict[int, float] = {}
    for name, factor in plan.trouble.items():
        first, last = measures_of_section(score, name)
        factors.update(dict.fromkeys(range(first, last + 1), factor))
    return factors
