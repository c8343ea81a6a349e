"""When to turn the page for the player: pure decisions, no widgets.

The rules, in the order they are asked:

1. The system being played is not wholly in sight: bring it to the top.
2. The next system is not wholly in sight and the player is past the point where a reader's eyes
   move on (:data:`LOOK_AHEAD_SHARE` of the system): bring the system being played to the top, so
   that what comes next lies below it.
3. Otherwise nothing moves, so a place that wavers never makes the page waver.

In a window too low for two systems rule 2 waits until :data:`LAST_MOMENT_SHARE` and then brings
the next system to the top.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

LOOK_AHEAD_SHARE = 0.25
"""Pianists read about one to two seconds ahead (common practice); a system lasts several, so a
turn in its first half comes early enough and leaves time to settle."""
LAST_MOMENT_SHARE = 0.85


class Extent(NamedTuple):
    """Upper and lower edge of a system, in pixels from the top of all pages."""

    top: float
    bottom: float


def turn_to(
    systems: Sequence[Extent],
    playing: int,
    share_played: float,
    view_top: float,
    view_height: float,
) -> float | None:
    """Return where the upper edge of the view should go, or None to leave it.

    Parameters
    ----------
    systems
        In reading order.
    playing
        Index of the system with the place being played.
    share_played
        How far through that system the place is, 0 to 1.
    view_top, view_height
        What is in sight now, in the same pixels.
    """
    here = systems[playing]
    if not _in_sight(here, view_top, view_height):
        return here.top
    if playing + 1 == len(systems):
        return None
    following = systems[playing + 1]
    if _in_sight(following, view_top, view_height):
        return None
    both = max(here.bottom, following.bottom) - here.top <= view_height
    if both and following.bottom >= here.top:
        return here.top if share_played >= LOOK_AHEAD_SHARE else None
    return following.top if share_played >= LAST_MOMENT_SHARE else None


def _in_sight(extent: Extent, view_top: float, view_height: float) -> bool:
    """Whether it can be read; of one taller than the view, its beginning counts."""
    bottom = min(extent.bottom, extent.top + view_height)
    return extent.top >= view_top - 1 and bottom <= view_top + view_height + 1
