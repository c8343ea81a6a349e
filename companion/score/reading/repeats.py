"""The order in which written measures are played: repeats, endings, D.C., D.S., Fine, Coda.

Conventions (common practice; W3C MusicXML 4.0 where it speaks)
-----------
- A repeat without a printed beginning goes back to the end of the repeat before it, to the
  measure behind a Fine, or to the start of the piece.
- An ending is taken on the passes that its numbers name.
- After D.C. or D.S. repeats are not taken again, unless the repeat says ``after-jump="yes"``, and
  of several endings the last is taken.
- Fine and To Coda count only after a jump, D.C. and D.S. jump once. A D.C. behind a Trio, with
  no Fine anywhere, ends before the Trio.
- Jumps take effect at the end of their measure.

Hostile or contradictory signs cannot loop: each jump is taken once, each repeat at most 16 times,
and an order beyond all reason is given up for the written one.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

MOST_TIMES_LONGER = 20
"""An order longer than this many times the written measures is given up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """What the signs of one measure say about the order of playing.

    ``segno``, ``coda`` and the jumps hold the label they bear or ask for, None for no sign; an
    unlabelled sign has the label "".
    """

    starts_repeat: bool = False
    ends_repeat: bool = False
    times: int = 2
    after_jump: bool = False
    ending: tuple[int, ...] = ()
    segno: str | None = None
    coda: str | None = None
    da_capo: bool = False
    dal_segno: str | None = None
    to_coda: str | None = None
    fine: bool = False


def playing_order(measures: Sequence[Signs]) -> tuple[int, ...] | None:
    """Return the measure indices in the order of playing, all repeats taken.

    None where the signs contradict each other: the order would go on beyond reason or leave
    measures unplayed.
    """
    order = _Walk(measures).run()
    return tuple(order) if set(order) == set(range(len(measures))) else None


class _Walk:
    """A player's finger on the page: where it is, which pass, whether it has jumped."""

    def __init__(self, measures: Sequence[Signs]) -> None:
        self._measures = measures
        self._repeat_start = 0
        self._start_is_printed = False
        self._turn = 1  # which pass through the current repeat
        self._jumped = False
        self._jumps_taken: set[int] = set()
        self._left_for_coda = False

    def run(self) -> list[int]:
        order: list[int] = []
        limit = MOST_TIMES_LONGER * len(self._measures)
        place = 0
        while 0 <= place < len(self._measures):
            signs = self._measures[place]
            if signs.starts_repeat:
                if place != self._repeat_start:
                    self._begin_at(place)
                self._start_is_printed = True
            if signs.ending and not self._takes_ending(place):
                place = self._behind_ending(place)
                if place < len(self._measures) and not self._measures[place].ending:
                    self._begin_at(place)
                continue
            order.append(place)
            if len(order) > limit:
                return []
            following = self._after(place)
            if following is None:
                break
            place = following
        return order

    def _takes_ending(self, place: int) -> bool:
        numbers = self._measures[place].ending
        if self._jumped and not self._repeats_after_jump(place):
            return max(numbers) == self._last_pass(place)
        if self._turn in numbers or self._first_pass(place) > self._turn:
            return True  # the bracket of the first ending may have been forgotten
        # numbers that leave a gap must not make music unreachable: the last ending takes the rest
        last = self._last_pass(place)
        return self._turn > last > 1 and max(numbers) == last

    def _behind_ending(self, place: int) -> int:
        numbers = self._measures[place].ending
        while place < len(self._measures) and self._measures[place].ending == numbers:
            place += 1
        return place

    def _endings_group(self, place: int) -> range:
        """Return the measures of all endings that stand side by side around a place."""
        first = last = place
        while first > 0 and self._measures[first - 1].ending:
            first -= 1
        while last + 1 < len(self._measures) and self._measures[last + 1].ending:
            last += 1
        return range(first, last + 1)

    def _first_pass(self, place: int) -> int:
        return min(min(self._measures[index].ending) for index in self._endings_group(place))

    def _last_pass(self, place: int) -> int:
        return max(
            (max(self._measures[index].ending, default=1) for index in self._endings_group(place)),
            default=1,
        )

    def _repeats_after_jump(self, place: int) -> bool:
        return any(self._measures[index].after_jump for index in self._endings_group(place))

    def _after(self, place: int) -> int | None:
        """Return the measure to play after this one, None at the end."""
        signs = self._measures[place]
        if self._jumped and signs.fine:
            return None
        if self._jumped and signs.to_coda is not None and not self._left_for_coda:
            target = self._find_coda(signs.to_coda, place)
            if target is not None:
                self._left_for_coda = True
                self._begin_at(target)
                return target
        if signs.ends_repeat and (not self._jumped or signs.after_jump):
            # a first ending alone: the second pass goes on behind it
            passes = max(2, self._last_pass(place)) if signs.ending else signs.times
            if self._turn < passes:
                self._turn += 1
                return self._repeat_start
        border = signs.fine and not self._start_is_printed
        if signs.ends_repeat or border or self._ends_endings(place):
            self._begin_at(place + 1)
        if place not in self._jumps_taken:
            target = self._jump(signs, place)
            if target is not None:
                self._jumps_taken.add(place)
                self._jumped = True
                self._begin_at(target)
                return target
        return place + 1

    def _begin_at(self, place: int) -> None:
        self._repeat_start, self._start_is_printed, self._turn = place, False, 1

    def _ends_endings(self, place: int) -> bool:
        following = place + 1
        if not self._measures[place].ending:
            return False
        return following >= len(self._measures) or not self._measures[following].ending

    def _jump(self, signs: Signs, place: int) -> int | None:
        if signs.dal_segno is not None:
            return self._find_segno(signs.dal_segno, place)
        return 0 if signs.da_capo else None

    def _find_segno(self, label: str, place: int) -> int | None:
        segnos = [
            index for index, measure in enumerate(self._measures) if measure.segno is not None
        ]
        for index in segnos:
            if label and self._measures[index].segno == label:
                return index
        before = [index for index in segnos if index <= place]
        return before[-1] if before else None

    def _find_coda(self, label: str, place: int) -> int | None:
        codas = [
            index
            for index, measure in enumerate(self._measures)
            if measure.coda is not None and index > place
        ]
        for index in codas:
            if label and self._measures[index].coda == label:
                return index
        return codas[0] if codas else None


def jumps_into(order: Sequence[int]) -> dict[int, tuple[int, ...]]:
    """For each measure, the measures played just before it other than the one printed before."""
    before: dict[int, set[int]] = {}
    for earlier, later in pairwise(order):
        if later != earlier + 1:
            before.setdefault(later, set()).add(earlier)
    return {later: tuple(sorted(places)) for later, places in before.items()}
