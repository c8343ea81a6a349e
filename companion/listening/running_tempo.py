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

    def forget(self) -> None:
        """Begin a new line: what comes does not follow from what was."""
        self._points.clear()

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
        points.append((seconds, quarters))
        while quarters - points[0][1] > SPAN_QUARTERS:
            points.popleft()
        places = [place for _, place in points]
        if len(set(places)) < FEWEST_ONSETS or max(places) - min(places) < FEWEST_QUARTERS:
            return None
        count = len(points)
        mean_place = sum(places) / count
        mean_time = sum(time for time, _ in points) / count
        square = sum((place - mean_place) ** 2 for place in places)
        slope = sum((place - mean_place) * (time - mean_time) for time, place in points) / square
        return 60.0 / slope if slope > 1e-3 else None
