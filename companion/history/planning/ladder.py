"""Where to set the metronome: the ladder of its traditional marks.

Neighbouring marks are 3 to 6 % apart, about two of the smallest differences that are heard (Drake &
Botte 1993). Practice under tempo is nearly universal, though without proof (Allingham & Woellner
2022, doi:10.1177/03057356211073481); alternating slow with performance tempo did at least as well
as step by step (Henley 2001), so that the plan puts a probe at full tempo between the steps.
"""

from __future__ import annotations

from bisect import bisect_right

from companion.timebase import METRONOME_MARKS, next_metronome_mark

FIRST_SHARE = 0.6
"""Share of the target to begin with where no tempo was heard yet (common practice)."""

_SLOWEST = METRONOME_MARKS[0]


def first_mark(target_beats_per_minute: float) -> int:
    """Return the mark to begin with: at most :data:`FIRST_SHARE` of the target, at least 40."""
    return mark_at_most(FIRST_SHARE * target_beats_per_minute)


def next_mark(target_beats_per_minute: float, tempo_share: float | None) -> int:
    """Return the next mark: the one above what was reached, but never above the target.

    Parameters
    ----------
    tempo_share
        Share of the target that was reached; None when that is not known.
    """
    if tempo_share is None:
        return first_mark(target_beats_per_minute)
    following = next_metronome_mark(tempo_share * target_beats_per_minute)
    return min(following, mark_at_most(target_beats_per_minute))


def mark_at_most(beats_per_minute: float) -> int:
    """Return the fastest mark that is not faster than this, 40 for anything slower."""
    place = bisect_right(METRONOME_MARKS, beats_per_minute)
    return METRONOME_MARKS[place - 1] if place else _SLOWEST
