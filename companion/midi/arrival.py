"""When a message arrived, rebuilt from rtmidi's deltas to better than a millisecond.

rtmidi tells how long after the message before it each message came, by a clock of its own, and
hands messages out when they are asked for, which may be much later. The sum of the deltas is that
clock; what is unknown is its offset to ours. Each message bounds the offset from both sides: it
came after the last moment when the queue was seen empty and before the moment it was taken out. The
bounds of many messages are intersected; they are widened slowly for the drift of the clocks, and
started anew when they contradict each other (rtmidi forgets time with messages that it filters).
"""

from __future__ import annotations

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
        self, delta_seconds: float, *, seen_empty_seconds: float, taken_seconds: float
    ) -> float:
        """Arrival time of the next message.

        Parameters
        ----------
        delta_seconds
            rtmidi's time since the message before it.
        seen_empty_seconds
            The last moment at which the queue was known to be empty.
        taken_seconds
            The moment at which this message was taken out.

        Returns
        -------
        float
            Seconds on the clock of the two moments; never before the message before it.
        """
        self._sum_seconds += delta_seconds
        low = seen_empty_seconds - self._sum_seconds
        high = taken_seconds - self._sum_seconds
        self._narrow(low, high, taken_seconds)
        arrival = (self._low + self._high) / 2 + self._sum_seconds
        self._last = max(self._last, min(arrival, taken_seconds))
        return self._last

    def _narrow(self, own_low: float, own_high: float, now_seconds: float) -> None:
        low, high = own_low, own_high
        if self._bounded_at is not None:
            widened = MAX_DRIFT * (now_seconds - self._bounded_at)
            low = max(own_low, self._low - widened)
            high = min(own_high, self._high + widened)
            if low - high > _TOLERANCE_SECONDS:
                low, high = own_low, own_high
        self._bounded_at = now_seconds
        self._low, self._high = min(low, high), max(low, high)
