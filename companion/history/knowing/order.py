"""Whether the hardest sections are those known longest: the one question of the piece.

Kendall's tau-b between the workload of the sections and the days since which they are known
(Kendall 1945, Biometrika 33:239-251; pairs alike in one of the two are set apart by the b form).
A section that is not known has been known for no day. With the few sections of a piece chance alone
gives large values, so the answer says with what probability a random order would do as well, from
all orders or, beyond :data:`ALL_ORDERS_UP_TO` sections, from many drawn ones (permutation test).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from itertools import combinations, permutations
from math import sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

ALL_ORDERS_UP_TO = 7
DRAWN_ORDERS = 1000
_LEAST_SECTIONS = 3
_RARE = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A section in the question: how hard it is, and for how many days it has been known."""

    section_id: str
    name: str
    workload: float
    days_known: int


class Answer(StrEnum):
    """The answer in a word."""

    TOO_FEW = "too few sections to tell"
    NOTHING_KNOWN = "nothing is known yet"
    ALIKE = "all sections are alike"
    YES = "yes"
    RATHER = "rather yes"
    HARDLY = "hardly"
    NO = "no"


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderAnswer:
    """Whether the hardest sections are those known longest.

    Parameters
    ----------
    tau
        Kendall's tau-b, -1 to 1; None when it cannot be told.
    by_chance
        Share of all orders that would do as well or better; None when tau is.
    section_count
        Sections that were compared.
    change
        The pairs that speak most against it, the hardest first: a harder section and an easier one
        that has been known for longer.
    hardest
        The hardest sections, the hardest first.
    """

    answer: Answer
    tau: float | None = None
    by_chance: float | None = None
    section_count: int = 0
    change: tuple[tuple[Standing, Standing], ...] = ()
    hardest: tuple[Standing, ...] = ()


def hardest_known_longest(standings: Iterable[Standing], pairs_named: int = 3) -> OrderAnswer:
    """Answer the question for the sections of a piece, each counted once (leaves of the map)."""
    sections = tuple(standings)
    against = _against(sections)[:pairs_named]
    hardest = tuple(sorted(sections, key=lambda each: -each.workload)[:pairs_named])

    def told(answer: Answer, tau: float | None = None, chance: float | None = None) -> OrderAnswer:
        return OrderAnswer(
            answer=answer,
            tau=tau,
            by_chance=chance,
            section_count=len(sections),
            change=against,
            hardest=hardest,
        )

    if len(sections) < _LEAST_SECTIONS:
        return told(Answer.TOO_FEW)
    workloads = [section.workload for section in sections]
    days = [section.days_known for section in sections]
    if not any(days):
        return told(Answer.NOTHING_KNOWN)
    tau = kendall_tau_b(workloads, days)
    if tau is None:
        return told(Answer.ALIKE)
    chance = _by_chance(workloads, days)
    if tau <= 0:
        return told(Answer.NO, tau, chance)
    if chance <= _RARE:
        return told(Answer.YES, tau, chance)
    return told(Answer.RATHER if tau >= 1 / 3 else Answer.HARDLY, tau, chance)


def kendall_tau_b(first: Sequence[float], second: Sequence[float]) -> float | None:
    """Return Kendall's tau-b, None when one of the two is the same everywhere."""
    agreeing = tied_first = tied_second = count = 0
    for one, other in combinations(range(len(first)), 2):
        by_first, by_second = first[one] - first[other], second[one] - second[other]
        count += 1
        tied_first += by_first == 0
        tied_second += by_second == 0
        if by_first and by_second:
            agreeing += 1 if (by_first > 0) == (by_second > 0) else -1
    scale = sqrt((count - tied_first) * (count - tied_second))
    return agreeing / scale if scale else None


def _by_chance(workloads: Sequence[float], days: Sequence[int]) -> float:
    """Share of all orders of the days that agree with the workloads as well as this one does.

    Only the agreeing less the disagreeing pairs are counted: another order changes no ties, so that
    this ranks orders as tau-b does.
    """
    import numpy as np  # here: asked in the thread of the window, which starts without it

    one, other = np.triu_indices(len(days), 1)
    hardness = np.array(workloads)
    _, ranks = np.unique(days, return_inverse=True)  # small numbers in the place of days
    ranks = ranks.astype(np.int16)
    harder = np.sign(hardness[one] - hardness[other]).astype(np.float32)
    orders = ranks[_orders(len(days))]
    # 32-bit floats hold these whole numbers exactly, and are multiplied the fastest
    agreeing = np.sign(orders[:, one] - orders[:, other]).astype(np.float32) @ harder
    observed = np.sign(ranks[one] - ranks[other]).astype(np.float32) @ harder
    return float(np.mean(agreeing >= observed))


@lru_cache(maxsize=4)
def _orders(count: int) -> NDArray[np.int16]:
    """All orders of so many things, or many drawn ones: the same each time they are asked for."""
    import numpy as np

    if count <= ALL_ORDERS_UP_TO:
        return np.array(list(permutations(range(count))), dtype=np.int16)
    drawn = np.random.default_rng(count)
    return drawn.permuted(np.tile(np.arange(count, dtype=np.int16), (DRAWN_ORDERS, 1)), axis=1)


def _against(sections: Sequence[Standing]) -> tuple[tuple[Standing, Standing], ...]:
    """Pairs of a harder section and an easier one known for longer; the widest gap first."""
    pairs = [
        (hard, easy)
        for hard in sections
        for easy in sections
        if hard.workload > easy.workload and hard.days_known < easy.days_known
    ]
    pairs.sort(
        key=lambda pair: (
            -pair[0].workload,
            pair[0].days_known - pair[1].days_known,
            pair[1].workload,
        )
    )
    named: list[tuple[Standing, Standing]] = []
    for hard, easy in pairs:  # each hard section once, with the one that is furthest ahead of it
        if all(hard is not known for known, _ in named):
            named.append((hard, easy))
    return tuple(named)
