"""When a message arrived, rebuilt from rtmidi's deltas to better than a millisecond.

rtmidi tells how long after the message before it each message came, by a clock of its own, and
hands messages out when they are asked for, which may be much later. The sum of the deltas is that
clock; what is unknown is its offset to ours. Each message bounds the offset from both sides: it
came after the last moment when the queue was seen empty and before the moment it was taken out. The
bounds of many messages are intersected; they are widened slowly for the drift of the clocks, and
started anew when they contradict each other (rtmidi forgets time with messages that it filters).
"""

from __future__ import annotations

from collections.abc import Sequence

MAX_DRIFT = 200e-6
"""Relative drift allowed between the two clocks, seconds per second: crystals keep 1e-4."""

_TOLERANCE_SECONDS = 0.0005  # scheduling between the driver's time stamp and its queue


class ArrivalClock:
    """Turns the deltas of one input into times on our own monotonic clock."""

    def __init__(self) -> None:
        self._sum_seconds = 0.0
        self._low = self._high = 0.0
        self._bounded_at: float | None = None
        self._last = float("-inf")

    def arrival_seconds(
        self, taken: Sequence[tuple[float, float]], *, seen_empty_seconds: float
    ) -> list[float]:
        """Arrival times of all messages that were taken out in one go.

        What the later ones tell about the offset serves the earlier ones too: after a first note
        that waited long, the times from note to note are still exact.

        Parameters
        ----------
        taken
            For each message rtmidi's seconds since the message before it, and the moment at which
            it was taken out.
        seen_empty_seconds
            The last moment at which the queue was known to be empty.

        Returns
        -------
        list of float
            Seconds on the clock of the moments; never falling, never after the taking out.
        """
        sums: list[float] = []
        offsets: list[float] = []
        for delta_seconds, taken_seconds in taken:
            self._sum_seconds += delta_seconds
            settled = self._narrow(
                seen_empty_seconds - self._sum_seconds,
                taken_seconds - self._sum_seconds,
                taken_seconds,
            )
            if settled is not None:
                offsets += [settled] * (len(sums) - len(offsets))
            sums.append(self._sum_seconds)
        offsets += [(self._low + self._high) / 2] * (len(sums) - len(offsets))
        arrivals: list[float] = []
        for (_, taken_seconds), counted, offset in zip(taken, sums, offsets, strict=True):
            self._last = max(self._last, min(offset + counted, taken_seconds))
            arrivals.append(self._last)
        return arrivals

    def _narrow(self, own_low: float, own_high: float, now_seconds: float) -> float | None:
        """Intersect the bounds; the offset that held until now, where they contradict it."""
        low, high, settled = own_low, own_high, None
        if self._bounded_at is not None:
            widened = MAX_DRIFT * (now_seconds - self._bounded_at)
            low = max(own_low, self._low - widened)
            high = min(own_high, self._high + widened)
            if low - high > _TOLERANCE_SECONDS:
                low, high = own_low, own_high
                settled = (self._low + self._high) / 2
        self._bounded_at = now_seconds
        self._low, self._high = min(low, high), max(low, high)
        return settled
