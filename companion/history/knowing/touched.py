"""Which take touched which sections, as a table of numbers: takes down, sections across.

What concerns several sections at once (borders that were played over, run-throughs, where the time
went) is told from here; what concerns one section is told from its attempts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from companion.history.knowing.columns import HANDS
from companion.listening.notes import Hands

RUN_THROUGH_SHARE = 0.9
"""Share of the sections that a run-through takes in to their ends (project convention)."""

_BOTH = HANDS.index(Hands.BOTH)
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class TouchedTake:
    """One take: how far it came in each section, in the order that was asked for."""

    take_id: str
    started_at: datetime
    seconds: float
    hands: Hands
    coverage: tuple[float, ...]
    complete: tuple[bool, ...]
    began_again: tuple[bool, ...]
    tempo_quarters_per_minute: tuple[float | None, ...]
    from_memory: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """All takes of a piece in rising order, by the sections that were asked for.

    Parameters
    ----------
    take_ids, microseconds, seconds, days
        One for each take: id, beginning in microseconds since 1970, length, practice day (ordinal).
    coverage
        Takes x sections: share (0-1) of the section before the first jump; 0 where it was not
        touched.
    complete
        Takes x sections: whether that was all of it.
    began_again
        Takes x sections: whether it was left by going back before that.
    hands
        Takes x sections: which hands, as their place in :data:`HANDS`.
    tempo
        Takes x sections, quarters a minute; not a number where it cannot be told.
    stops
        Takes x sections.
    from_memory
        One for each take: whether it was played from memory; None when none was.
    """

    take_ids: Sequence[str]
    microseconds: NDArray[np.int64] = field(repr=False)
    seconds: NDArray[np.float64] = field(repr=False)
    days: NDArray[np.int64] = field(repr=False)
    coverage: NDArray[np.float64] = field(repr=False)
    complete: NDArray[np.bool_] = field(repr=False)
    began_again: NDArray[np.bool_] = field(repr=False)
    hands: NDArray[np.uint8] = field(repr=False)
    tempo: NDArray[np.float64] = field(repr=False)
    stops: NDArray[np.int64] = field(repr=False)
    from_memory: NDArray[np.bool_] | None = field(default=None, repr=False)

    @property
    def first_day(self) -> date | None:
        """The day of the first take; None without one."""
        return date.fromordinal(int(self.days[0])) if len(self.days) else None

    def before(self, day: date) -> Touched:
        """Only the takes before a day."""
        return self._only(self.days < day.toordinal())

    def on(self, day: date) -> tuple[TouchedTake, ...]:
        """The takes of one day."""
        return tuple(self._take(int(row)) for row in np.flatnonzero(self.days == day.toordinal()))

    def last_joined(self, first: int, second: int) -> date | None:
        """The last day on which one take came through a section and on into another.

        Told from the attempts: the first one complete, the second begun, both hands.
        """
        both = (self.hands[:, first] == _BOTH) & (self.hands[:, second] == _BOTH)
        return self._last(self.complete[:, first] & (self.coverage[:, second] > 0) & both)

    @property
    def last_run_through(self) -> date | None:
        """The last day on which one take came through nearly all sections, both hands."""
        return self._last(self._run_throughs())

    def cold_run_throughs(self, since: date) -> tuple[int, int]:
        """Run-throughs that were the first take of a day, and how many of them without a stop."""
        _, first = np.unique(self.days, return_index=True)
        rows = [row for row in first.tolist() if self.days[row] >= since.toordinal()]
        runs = self._run_throughs()
        whole = self.complete & (self.stops == 0)
        return sum(bool(runs[row]) for row in rows), sum(
            bool(runs[row] and whole[row].all()) for row in rows
        )

    def _run_throughs(self) -> NDArray[np.bool_]:
        sections = self.complete.shape[1]
        through = (self.complete & (self.hands == _BOTH)).sum(axis=1)
        return np.asarray((through >= RUN_THROUGH_SHARE * sections) & (sections > 0))

    def seconds_in(self, playing_seconds: Sequence[float]) -> NDArray[np.float64]:
        """Share the length of each take out among the sections that it touched.

        Parameters
        ----------
        playing_seconds
            Of each section once through: a long one gets more of a take than a short one.

        Returns
        -------
        NDArray
            Takes x sections, seconds.
        """
        weights = self.coverage * np.asarray(playing_seconds, dtype=np.float64)
        sums = weights.sum(axis=1, keepdims=True)
        shares = np.divide(weights, sums, out=np.zeros_like(weights), where=sums > 0)
        return np.asarray(shares * self.seconds[:, None], dtype=np.float64)

    def _last(self, chosen: NDArray[np.bool_]) -> date | None:
        rows = np.flatnonzero(chosen)
        return date.fromordinal(int(self.days[rows].max())) if len(rows) else None

    def _only(self, chosen: NDArray[np.bool_]) -> Touched:
        rows = np.flatnonzero(chosen)
        return Touched(
            take_ids=[self.take_ids[row] for row in rows.tolist()],
            microseconds=self.microseconds[rows],
            seconds=self.seconds[rows],
            days=self.days[rows],
            coverage=self.coverage[rows],
            complete=self.complete[rows],
            began_again=self.began_again[rows],
            hands=self.hands[rows],
            tempo=self.tempo[rows],
            stops=self.stops[rows],
            from_memory=None if self.from_memory is None else self.from_memory[rows],
        )

    def _take(self, row: int) -> TouchedTake:
        touched = self.coverage[row] > 0
        hands = self.hands[row][touched]
        return TouchedTake(
            take_id=self.take_ids[row],
            started_at=_EPOCH + timedelta(microseconds=int(self.microseconds[row])),
            seconds=float(self.seconds[row]),
            # a take with both hands anywhere is one with both hands
            hands=HANDS[int(hands[0])] if len(set(hands.tolist())) == 1 else Hands.BOTH,
            coverage=tuple(self.coverage[row].tolist()),
            complete=tuple(self.complete[row].tolist()),
            began_again=tuple(self.began_again[row].tolist()),
            tempo_quarters_per_minute=tuple(
                None if tempo != tempo else tempo for tempo in self.tempo[row].tolist()
            ),
            from_memory=self.from_memory is not None and bool(self.from_memory[row]),
        )
