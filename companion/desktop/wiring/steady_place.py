"""Where the place marker stands: the follower's statements, without its second thoughts.

The follower says after each note what is likeliest. The marker is for the eye of somebody who
plays: it goes on at once with the music, it goes elsewhere only on good ground or when a second
note confirms it, and it never hops between places where the same music stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from companion.desktop.section_map.overlay import Leap
from companion.listening.notes import Place
from companion.score.model import Position, Score

CERTAIN_FROM = 0.5
"""Share of all that could be happening from which a place counts as certain."""

LEAP_AT_ONCE_FROM = 0.8
"""With this confidence, and nothing like it elsewhere, the marker leaps without waiting."""

ON_AHEAD_QUARTERS = 4.0
"""So far ahead the music may be and still have gone on (notes may be missed)."""

BACK_A_LITTLE_QUARTERS = 1.0
"""So far back a note may seem to lie (chords, ornaments) without being a return."""

LOST_AFTER_NOTES = 8
"""After so many notes without a place the marker is taken away."""


class PlaceState(StrEnum):
    """What the program knows of the place."""

    LOOKING = "looking"
    UNCERTAIN = "uncertain"
    CERTAIN = "certain"


@dataclass(frozen=True, slots=True, kw_only=True)
class Steady:
    """Where the marker stands after a note.

    Parameters
    ----------
    state
        What is known.
    shown
        The place at which the marker stands; None while it is taken away.
    moved
        Whether the marker moved with this note.
    leap
        The return or jump that the marker made with this note.
    """

    state: PlaceState
    shown: Place | None
    moved: bool = False
    leap: Leap | None = None


class SteadyPlace:
    """Follows the follower; one take long.

    Parameters
    ----------
    score
        Its written repeats are no returns.
    """

    def __init__(self, score: Score) -> None:
        self._written_leaps = {
            (before, after)
            for before, after in pairwise(score.playing_order)
            if after != before + 1
        }
        self._shown: Place | None = None
        self._candidate: Place | None = None
        self._without_place = 0

    @property
    def shown(self) -> Place | None:
        """The place that is shown."""
        return self._shown

    def forget(self) -> None:
        """Begin a new take."""
        self._shown = self._candidate = None
        self._without_place = 0

    def hear(self, place: Place | None) -> Steady:
        """Take what the follower says after one more note."""
        if place is None:
            return self._hear_nothing()
        self._without_place = 0
        state = PlaceState.CERTAIN if _is_sure(place) else PlaceState.UNCERTAIN
        shown = self._shown
        if shown is None or _goes_on(shown, place):
            return self._move(place, state)
        if _is_a_little_back(shown, place):
            self._candidate = None
            return Steady(state=state, shown=shown)
        ground = place.confidence >= LEAP_AT_ONCE_FROM and not place.ambiguous_with
        confirmed = self._candidate is not None and _goes_on(self._candidate, place)
        if ground or (confirmed and _is_sure(place)):
            landed = self._candidate if confirmed and self._candidate is not None else place
            return self._move(place, state, self._leap(shown, landed))
        self._candidate = place
        return Steady(state=PlaceState.UNCERTAIN, shown=shown)

    def _hear_nothing(self) -> Steady:
        self._candidate = None
        self._without_place += 1
        if self._without_place >= LOST_AFTER_NOTES:
            self._shown = None
        return Steady(state=PlaceState.LOOKING, shown=self._shown)

    def _move(self, place: Place, state: PlaceState, leap: Leap | None = None) -> Steady:
        moved = self._shown is None or place.onset_quarters != self._shown.onset_quarters
        self._shown, self._candidate = place, None
        return Steady(state=state, shown=place, moved=moved, leap=leap)

    def _leap(self, shown: Place, landed: Place) -> Leap | None:
        if (shown.measure_index, landed.measure_index) in self._written_leaps:
            return None
        return Leap(position_of(shown), position_of(landed))


def position_of(place: Place) -> Position:
    """The key of a place."""
    return Position(place.measure_index, Fraction(place.measure_offset_quarters))


def _is_sure(place: Place) -> bool:
    return place.confidence >= CERTAIN_FROM and not place.ambiguous_with


def _goes_on(shown: Place, place: Place) -> bool:
    ahead = float(place.onset_quarters) - float(shown.onset_quarters)
    return 0.0 <= ahead <= ON_AHEAD_QUARTERS


def _is_a_little_back(shown: Place, place: Place) -> bool:
    back = float(shown.onset_quarters) - float(place.onset_quarters)
    return 0.0 < back <= BACK_A_LITTLE_QUARTERS and place.confidence < LEAP_AT_ONCE_FROM
