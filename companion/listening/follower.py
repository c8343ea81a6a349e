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

from companion.listening.decoding.alike import AlikePlaces
from companion.listening.decoding.costs import Costs
from companion.listening.decoding.decoder import PlaceDecoder
from companion.listening.decoding.moves import Taken
from companion.listening.decoding.score_onsets import CHAIN_HANDS, lay_out_onsets
from companion.listening.notes import HeardNote, Place, PlaceEvent, Verdict
from companion.listening.running_tempo import RunningTempo
from companion.score.model import ScoreNote

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray


__all__ = ["Follower", "HeardNote", "Place", "ScoreNote"]

LIVE_COSTS = Costs(
    # who cannot hear yet what comes after a trill keeps still while it lasts
    added_in_trill=1.4,
    # slips
    added_near=4.5,
    added_far=5.6,
    added_alone=1.0,
    missed_note=2.6,
    skipped_onset=0.3,
    lost_note=2.8,
    # time
    late_for_onset=0.8,
    late_in_chord_per_second=26.0,
    late_in_chord_most=4.6,
    chord_window_seconds=0.04,
    onset_spread_seconds=0.04,
    timing_most=2.3,
    tempo_learning=0.18,
    # starting anew
    pause_seconds=0.2,
    jump_at_once=7.0,
    jump_after_long_pause=0.6,
    landing_this_measure=2.3,
    landing_behind=2.5,
    landing_ahead=3.2,
    landing_inside=2.7,
    passage_quarters=20.0,
    retry_after_slip=-1.8,
    other_hands=2.4,
    begin_one_hand=0.5,
)
"""What it charges while the player plays: the note just heard has to be told at once, and the notes
after it cannot put anything right. Fitted on simulated practice takes, one figure after the other
and round again, each step kept that helped; on takes of other pieces and other seeds one place in
twenty that is wrong with the figures of the careful match is right with these."""

SAME_PLACE_QUARTERS = 1.0
"""Paths this near to each other agree on where the player is."""

LEAST_CONFIDENCE = 0.04
"""Below this share there is no ground to name a place."""

RIVAL_COST = 3.0
"""A place that costs so much more than the cheapest is not chosen, nor asked."""

AGREED = 0.95
"""Among places for which as much speaks, within this ratio, that of the cheapest path is told."""

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
        self._decoder = PlaceDecoder(self._onsets, costs or LIVE_COSTS)
        self._decoder.prepare()
        self._alike = AlikePlaces(self._onsets)
        self._tempo = RunningTempo()
        self._last_quarters: float | None = None
        self._path_quarters: float | None = None
        self._began_note = -1
        self._repeated_quarters = 0.0

    def forget(self) -> None:
        """Begin a new take: nothing is known."""
        self._decoder.forget()
        self._tempo.forget()
        self._last_quarters = self._path_quarters = None
        self._began_note = -1

    def hear(self, note: HeardNote) -> Place | None:
        """Take one more note, in order of time.

        Returns
        -------
        Place or None
            Where the player is; None when there is no ground for any place.
        """
        decoder = self._decoder
        decoder.hear(note.onset_seconds, note.pitch, note.velocity)
        if decoder.best < 0:
            return None
        states, costs = decoder.active, decoder.active_costs
        places = self._onsets.state_quarters[states]
        likelihood = np.exp(-costs)
        path = self._choose(states, places, costs, likelihood)
        here = places.item(path)
        near = np.abs(places - here) <= SAME_PLACE_QUARTERS
        everything = np.add.reduce(likelihood) + math.exp(-max(-30.0, decoder.lost_cost))
        confidence = float(np.add.reduce(likelihood * near) / everything)
        if confidence < LEAST_CONFIDENCE:
            self._last_quarters = self._path_quarters = None
            self._tempo.forget()
            return None
        taken = decoder.taken(path)
        state = states.item(path)
        written = self._onsets.notes_at[state]
        first = self._notes[written[0]]
        event = self._event(path, here)
        tempo = self._tempo_now(note.onset_seconds)
        verdict, index = self._judge(taken, written, note)
        self._last_quarters = here
        return Place(
            onset_quarters=first.onset_quarters,
            measure_index=first.measure_index,
            measure_offset_quarters=first.measure_offset_quarters,
            confidence=confidence,
            hands=CHAIN_HANDS[self._onsets.state_chain[state]],
            quarters_per_minute=tempo,
            event=event,
            ambiguous_with=_other_places(places[~near & (likelihood > LIKELY_TOO)]),
            verdict=verdict,
            score_index=index,
        )

    def _choose(
        self,
        states: NDArray[np.intp],
        places: NDArray[np.float64],
        costs: NDArray[np.float64],
        likelihood: NDArray[np.float64],
    ) -> int:
        """The path to tell of: not always the likeliest, but the place for which most speaks.

        For a place speak all paths that end about there, and those that have heard what is written
        before it as well. So the beginning of a passage in music that stands three times is not
        taken for something else that is a little likelier than each of the three.
        """
        best = self._decoder.best_path
        rivals = (costs < RIVAL_COST).nonzero()[0]
        if len(rivals) == 1:
            return best
        away = places[rivals] - places[best]
        if np.abs(away).max() <= SAME_PLACE_QUARTERS:
            return best
        speak = np.abs(away - away[:, np.newaxis]) <= SAME_PLACE_QUARTERS
        speak |= self._alike.share(states[rivals], self._decoder.passed(rivals) + 1)
        for_it = speak @ likelihood[rivals]
        agreed = rivals[for_it >= AGREED * for_it.max()]
        if best in agreed:
            return best
        return int(agreed[costs[agreed].argmin()])

    def _tempo_now(self, seconds: float) -> float | None:
        """The tempo of the likeliest path, which does not leap while a place is in doubt."""
        decoder = self._decoder
        here = self._onsets.state_quarters.item(decoder.best)
        last, self._path_quarters = self._path_quarters, here
        if last is not None and decoder.taken(decoder.best_path) is Taken.WRITTEN_LEAP:
            # for the tempo the music goes on: as far from the last onset as it is written
            leap = decoder.leap_quarters(decoder.best_path)
            self._repeated_quarters += last - here + leap
        return self._tempo.hear(seconds, here + self._repeated_quarters)

    def _event(self, path: int, here: float) -> PlaceEvent:
        """What happened: told by the path that is believed now, not by where the last one was.

        A repeat may be understood a few notes late, and a place among equal music may be put right:
        then the place leaps, but the player has gone on.
        """
        last, began_before = self._last_quarters, self._began_note
        self._began_note, came_from = self._decoder.began(path)
        if last is None:
            return PlaceEvent.FOUND
        if self._began_note <= began_before:
            return PlaceEvent.GOES_ON
        if here <= came_from:
            return PlaceEvent.RESTART
        return PlaceEvent.JUMP

    def _judge(
        self, taken: Taken, written: tuple[int, ...], note: HeardNote
    ) -> tuple[Verdict, int | None]:
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
