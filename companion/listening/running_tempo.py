"""The tempo of the last few quarters, from the places reported so far.

A straight line is fitted (least squares) through clock time over score time of the last
``SPAN_QUARTERS`` quarters; its slope is the length of a quarter. The line starts anew when the
player goes back or leaps, since the pause before it is no music.
"""

from __future__ import annotations

from collections import deque

SPAN_QUARTERS = 4.0
FEWEST_ONSETS = 3
FEWEST_QUARTERS = 1.0
LEAP_QUARTERS = 4.0
STEP_BACK_QUARTERS = 0.5


class RunningTempo:
    """Tempo after each note; :meth:`hear` takes a place and gives quarters per minute or None."""

    def __init__(self) -> None:
        self._points: deque[tuple[float, float]] = deque()
        self.forget()

    def forget(self) -> None:
        """Begin a new line: what comes does not follow from what was."""
        self._points.clear()
        self._begin(0.0, 0.0)

    def _begin(self, seconds: float, quarters: float) -> None:
        """Count from here, so that the sums stay small."""
        self._from_seconds, self._from_quarters = seconds, quarters
        self._notes_at: dict[float, int] = {}
        self._sum_quarters = self._sum_seconds = self._sum_squares = self._sum_products = 0.0

    def hear(self, seconds: float, quarters: float) -> float | None:
        """Take one more note.

        Parameters
        ----------
        seconds, quarters
            When it was played and where it is written.

        Returns
        -------
        float or None
            Quarters per minute; None while fewer than three onsets or one quarter are known.
        """
        points = self._points
        if points:
            step = quarters - points[-1][1]
            if step < -STEP_BACK_QUARTERS or step > LEAP_QUARTERS:
                points.clear()
        if not points:
            self._begin(seconds, quarters)
        points.append((seconds, quarters))
        self._count(seconds, quarters, 1)
        while quarters - points[0][1] > SPAN_QUARTERS:
            self._count(*points.popleft(), -1)
        places = self._notes_at
        if len(places) < FEWEST_ONSETS or max(places) - min(places) < FEWEST_QUARTERS:
            return None
        count = len(points)
        square = self._sum_squares - self._sum_quarters**2 / count
        product = self._sum_products - self._sum_quarters * self._sum_seconds / count
        slope = product / square
        return 60.0 / slope if slope > 1e-3 else None

    def _count(self, seconds: float, quarters: float, sign: int) -> None:
        """Add one note to the sums, or take it away."""
        notes = self._notes_at.get(quarters, 0) + sign
        if notes:
            self._notes_at[quarters] = notes
        else:
            del self._notes_at[quarters]
        x, y = quarters - self._from_quarters, seconds - self._from_seconds
        self._sum_quarters += sign * x
        self._sum_seconds += sign * y
        self._sum_squares += sign * x * x
        self._sum_products += sign * x * y
