"""Merging ties: one attack for each chain of tied noteheads.

A notehead that is tied to an earlier one is not struck again. Where the file says "tied from
before" but nothing before fits, the note is struck: a note too many can be played, a note that is
lost cannot. Ties into a second ending are the exception: their beginning is where the repeat
jumped away, so they are heard as going on.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

GAP_QUARTERS = Fraction(1, 8)
"""Rounded durations may leave so much between the two ends of a tie."""


@dataclass(slots=True)
class Head:
    """One notehead with its place in the score.

    ``tied`` collects the noteheads that only go on with this one, ``resumed`` those in another
    ending that go on with it after a repeat has jumped there.
    """

    note_id: str
    pitch: int
    staff: int
    voice: int
    measure_index: int
    onset_quarters: Fraction
    duration_quarters: Fraction
    tie_start: bool
    tie_stop: bool
    tied: list[Head] = field(default_factory=list)
    resumed: list[Head] = field(default_factory=list)

    @property
    def end_quarters(self) -> Fraction:
        """Where this notehead alone ends."""
        return self.onset_quarters + self.duration_quarters

    @property
    def sounding_quarters(self) -> Fraction:
        """Length from the attack to the end of the last notehead tied on directly."""
        if not self.tied:
            return self.duration_quarters
        end = self.end_quarters
        for head in self.tied:
            if abs(head.onset_quarters - end) <= GAP_QUARTERS:
                end = max(end, head.end_quarters)
        return end - self.onset_quarters


def merge_ties(
    heads: Iterable[Head], jumped_from: Mapping[Fraction, Sequence[int]] | None = None
) -> list[Head]:
    """Return the heads that are struck, each with the heads tied on to it.

    Parameters
    ----------
    heads
        All noteheads in order of score time, graces before their main note.
    jumped_from
        Where a repeat or a jump may lead (the start of a measure, in quarters), with the indices
        of the measures that are then played just before.
    """
    struck: list[Head] = []
    open_chains: dict[int, list[tuple[Head, Head]]] = defaultdict(list)  # pitch: (first, last)
    ended: dict[tuple[int, int], list[Head]] = defaultdict(list)  # (measure, pitch) of tie starts
    for head in heads:
        chain = _take_chain(open_chains[head.pitch], head) if head.tie_stop else None
        if chain is None and head.tie_stop:
            origin = _origin_before_jump(head, ended, jumped_from or {})
            if origin is not None:
                origin.resumed.append(head)
                chain = origin
        elif chain is not None:
            chain.tied.append(head)
        if chain is None:
            struck.append(head)
            chain = head
        if head.tie_start:
            open_chains[head.pitch].append((chain, head))
            ended[head.measure_index, head.pitch].append(chain)
    return struck


def _take_chain(chains: list[tuple[Head, Head]], head: Head) -> Head | None:
    """Remove and return the first head of the open chain that this head goes on with."""
    fitting = [
        (first, last)
        for first, last in chains
        if abs(last.end_quarters - head.onset_quarters) <= GAP_QUARTERS and last is not head
    ]
    if not fitting:
        return None
    first, last = min(
        fitting,
        key=lambda chain: (
            chain[1].voice != head.voice,
            chain[1].staff != head.staff,
            abs(chain[1].end_quarters - head.onset_quarters),
        ),
    )
    chains[:] = [chain for chain in chains if chain[1] is not last]
    return first


def _origin_before_jump(
    head: Head,
    ended: Mapping[tuple[int, int], Sequence[Head]],
    jumped_from: Mapping[Fraction, Sequence[int]],
) -> Head | None:
    for before in jumped_from.get(head.onset_quarters, ()):
        origins = ended.get((before, head.pitch))
        if origins:
            return origins[-1]
    return None
