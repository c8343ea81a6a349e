"""Follow a player live: after each note, where in the written score they are.

The work is done by :class:`companion.listening.decoding.decoder.PlaceDecoder`; here its competing
paths are turned into one honest statement. A place is only reported when there is ground for it:
its share of all that could be happening, "something that is not written" included, must be large
enough.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.decoder import PlaceDecoder
from companion.listening.decoding.moves import Taken
from companion.listening.decoding.score_onsets import CHAIN_HANDS, lay_out_onsets
from companion.listening.notes import HeardNote, Place, PlaceEvent, Verdict
from companion.listening.running_tempo import RunningTempo
from companion.score.model import ScoreNote

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs

__all__ = ["Follower", "HeardNote", "Place", "ScoreNote"]

SAME_PLACE_QUARTERS = 1.0
"""Paths this near to each other agree on where the player is."""

LEAST_CONFIDENCE = 0.04
"""Below this share there is no ground to name a place."""

LIKELY_TOO = 0.25
"""Another place is named as possible when it is at least this likely, compared with the best."""


class Follower:
    """Follows one player through one score.

    Parameters
    ----------
    score_notes
        The written notes in any order; ``Place.score_index`` is a place in this sequence.
    costs
        The model of the decoder, for experiments.
    playing_order
        Measure indices in the order of playing (``Score.playing_order``); None as printed. Who
        follows a repeat or a D.C. goes on, and so does who leaves it out.
    """

    def __init__(
        self,
        score_notes: Sequence[ScoreNote],
        costs: Costs | None = None,
        *,
        playing_order: Sequence[int] | None = None,
    ) -> None:
        self._notes = score_notes
        self._onsets = lay_out_onsets(score_notes, playing_order)
        self._decoder = PlaceDecoder(self._onsets, costs)
        self._decoder.prepare()
        self._tempo = RunningTempo()
        self._last_quarters: float | None = None
        self._began_note = -1
        self._repeated_quarters = 0.0

    def forget(self) -> None:
        """Begin a new take: nothing is known."""
        self._decoder.forget()
        self._tempo.forget()
        self._last_quarters, self._began_note = None, -1

    def hear(self, note: HeardNote) -> Place | None:
        """Take one more note, in order of time.

        Returns
        -------
        Place or None
            Where the player is; None when there is no ground for any place.
        """
        decoder = self._decoder
        decoder.hear(note.onset_seconds, note.pitch, note.velocity)
        best = decoder.best
        if best < 0:
            return None
        places = self._onsets.state_quarters[decoder.active]
        here = self._onsets.state_quarters.item(best)
        likelihood = np.exp(-decoder.active_costs)
        near = np.abs(places - here) <= SAME_PLACE_QUARTERS
        everything = np.add.reduce(likelihood) + math.exp(-max(-30.0, decoder.lost_cost))
        confidence = float(np.add.reduce(likelihood * near) / everything)
        if confidence < LEAST_CONFIDENCE:
            self._last_quarters = None
            self._tempo.forget()
            return None
        taken = decoder.taken()
        first = self._notes[self._onsets.notes_at[best][0]]
        event = self._event(here)
        if taken is Taken.WRITTEN_LEAP and self._last_quarters is not None:
            # for the tempo the music goes on: as far from the last onset as it is written
            self._repeated_quarters += self._last_quarters - here + decoder.leap_quarters()
        tempo = self._tempo.hear(note.onset_seconds, here + self._repeated_quarters)
        verdict, index = self._judge(taken, note)
        self._last_quarters = here
        return Place(
            onset_quarters=first.onset_quarters,
            measure_index=first.measure_index,
            measure_offset_quarters=first.measure_offset_quarters,
            confidence=confidence,
            hands=CHAIN_HANDS[self._onsets.state_chain[best]],
            quarters_per_minute=tempo,
            event=event,
            ambiguous_with=_other_places(places[~near & (likelihood > LIKELY_TOO)]),
            verdict=verdict,
            score_index=index,
        )

    def _event(self, here: float) -> PlaceEvent:
        """What happened: told by the path that is believed now, not by where the last one was.

        A repeat may be understood a few notes late, and a place among equal music may be put right:
        then the place leaps, but the player has gone on.
        """
        last, began_before = self._last_quarters, self._began_note
        self._began_note, came_from = self._decoder.began()
        if last is None:
            return PlaceEvent.FOUND
        if self._began_note <= began_before:
            return PlaceEvent.GOES_ON
        if here <= came_from:
            return PlaceEvent.RESTART
        return PlaceEvent.JUMP

    def _judge(self, taken: Taken, note: HeardNote) -> tuple[Verdict, int | None]:
        written = self._onsets.notes_at[self._decoder.best]
        if taken is Taken.ADDED:
            return Verdict.ADDED, None
        nearest = min(written, key=lambda index: abs(self._notes[index].pitch - note.pitch))
        right = self._notes[nearest].pitch == note.pitch
        return (Verdict.RIGHT if right else Verdict.WRONG), nearest


def _other_places(places: NDArray[np.float64]) -> tuple[float, ...]:
    """Of places (quarters) the first of each that are near to each other, in rising order."""
    found: list[float] = []
    for place in sorted(places.tolist()):
        if not found or place - found[-1] > SAME_PLACE_QUARTERS:
            found.append(place)
    return tuple(found)
