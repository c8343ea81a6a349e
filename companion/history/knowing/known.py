"""Known, known since, lapsed: the state of a section from its cold takes.

- **Known** after ``days_to_know`` clean cold takes on as many days, the first and the last of them
  at least ``spread_days`` apart (both counted), until it lapses.
- **Lapsed** when ``lapse_misses`` of the last ``lapse_of`` cold takes were not clean. A lapsed
  section begins anew: it is known again after as many clean cold takes as at first.
- **Known since** is the day of the clean cold take that made it known, of the spell that lasts.

The clean cold takes need not follow each other: a single bad day in between neither helps nor
undoes the days before it, only two of three do.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from itertools import pairwise
from typing import overload

from companion.history.knowing.attempts import Attempt
from companion.history.knowing.clean import Flaw, Thresholds


class State(StrEnum):
    """How a section stands."""

    NEW = "new"
    LEARNING = "learning"
    KNOWN = "known"
    LAPSED = "lapsed"


@dataclass(frozen=True, slots=True, kw_only=True)
class ColdTake:
    """A cold take and what was judged of it; one a day."""

    day: date
    attempt: Attempt
    flaws: tuple[Flaw, ...]

    @property
    def clean(self) -> bool:
        """Whether nothing was wrong with it."""
        return not self.flaws


class JudgedTakes(Sequence[ColdTake]):
    """Many judged cold takes: days and whether each was clean are there, the rest is made late.

    Parameters
    ----------
    days, clean
        Of each, in rising order of days.
    make
        Gives the cold take at a place.
    """

    __slots__ = ("_make", "clean", "days")

    def __init__(
        self,
        days: tuple[date, ...],
        clean: tuple[bool, ...],
        make: Callable[[int], ColdTake],
    ) -> None:
        self.days = days
        self.clean = clean
        self._make = make

    def __len__(self) -> int:
        return len(self.days)

    @overload
    def __getitem__(self, place: int) -> ColdTake: ...
    @overload
    def __getitem__(self, place: slice) -> tuple[ColdTake, ...]: ...
    def __getitem__(self, place: int | slice) -> ColdTake | tuple[ColdTake, ...]:
        if isinstance(place, slice):
            return tuple(self._make(number) for number in range(len(self))[place])
        return self._make(range(len(self))[place])

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, (JudgedTakes, tuple)):
            return NotImplemented
        return tuple(self) == tuple(other)

    def __hash__(self) -> int:
        return hash((self.days, self.clean))

    def __reduce__(self) -> tuple[type, tuple[tuple[ColdTake, ...]]]:
        return tuple, (tuple(self),)  # what goes to another process takes nothing else along


def days_and_clean(cold: Iterable[ColdTake]) -> Iterable[tuple[date, bool]]:
    """Yield the day of each cold take and whether it was clean."""
    if isinstance(cold, JudgedTakes):
        return zip(cold.days, cold.clean, strict=True)
    return ((take.day, take.clean) for take in cold)


@dataclass(frozen=True, slots=True)
class Spell:
    """A time through which a section was known; ``lapsed_on`` is None while it lasts."""

    known_since: date
    lapsed_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Knowledge:
    """How a section stands, and how it came to that.

    ``clean_days`` counts the clean cold takes towards being known in the present spell or, while
    it is not known, towards the next; it is at most the number that is needed.
    """

    state: State
    cold_takes: Sequence[ColdTake] = ()
    spells: tuple[Spell, ...] = ()
    clean_days: int = 0

    @property
    def known_since(self) -> date | None:
        """The day since which it is known without a lapse; None when it is not known."""
        if self.spells and self.spells[-1].lapsed_on is None:
            return self.spells[-1].known_since
        return None

    def days_known(self, today: date) -> int:
        """Whole days since it became known; 0 when it is not known."""
        since = self.known_since
        return max((today - since).days, 0) if since is not None else 0

    def known_on(self, day: date) -> bool:
        """Whether it was known on some day."""
        return any(
            spell.known_since <= day and (spell.lapsed_on is None or day < spell.lapsed_on)
            for spell in self.spells
        )


def knowledge(cold: Sequence[ColdTake], thresholds: Thresholds | None = None) -> Knowledge:
    """Return how a section stands after its cold takes, which must be in rising order of days.

    Raises
    ------
    ValueError
        When two cold takes share a day or are out of order.
    """
    limits = thresholds if thresholds is not None else Thresholds()
    judged = tuple(days_and_clean(cold))
    if any(day >= next_day for (day, _), (next_day, _) in pairwise(judged)):
        raise ValueError("cold takes come one a day, in rising order")
    spells: list[Spell] = []
    known = False
    clean_days = 0
    first_clean: date | None = None
    window: deque[bool] = deque(maxlen=limits.lapse_of)  # by these a lapse is judged
    for day, clean in judged:
        window.append(clean)
        lapse = window.count(False) >= limits.lapse_misses
        if clean:
            clean_days += 1
            first_clean = first_clean or day
        elif lapse:
            clean_days, first_clean = 0, None  # what was reached before was not held
            if known:
                spells[-1] = Spell(spells[-1].known_since, day)
                known = False
        spread = (day - first_clean).days + 1 if first_clean is not None else 0
        enough = clean_days >= limits.days_to_know and spread >= limits.spread_days
        if clean and not known and not lapse and enough:
            spells.append(Spell(day))
            known = True
    return Knowledge(
        state=_state(cold, spells, known=known),
        cold_takes=cold if isinstance(cold, JudgedTakes) else tuple(cold),
        spells=tuple(spells),
        clean_days=min(clean_days, limits.days_to_know),
    )


def _state(cold: Sequence[ColdTake], spells: Sequence[Spell], *, known: bool) -> State:
    if known:
        return State.KNOWN
    if spells:
        return State.LAPSED
    return State.LEARNING if cold else State.NEW
