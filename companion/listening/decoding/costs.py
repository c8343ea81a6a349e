"""What the decoder charges for everything that may happen at the piano."""

from __future__ import annotations

from dataclasses import dataclass

NEVER = 1e6
"""A cost that nothing comes back from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What each happening costs, in nats (negative natural logarithms of its rate).

    Set by hand, as round figures for the careful match: first from plausible rates, then adjusted
    on simulated practice takes. The order of magnitude matters, not the figure: of the dozen that
    were varied by up to a nat, none moved the share of notes rightly placed by more than half a
    percent.
    The follower has some figures of its own (:data:`companion.listening.follower.LIVE_COSTS`).
    """

    wrong: float = 3.5  # one key in thirty is a wrong one
    added_near: float = 4.0  # a brushed neighbour
    added_again: float = 4.0  # a key of this onset struck again
    added_far: float = 6.0
    added_alone: float = 0.7  # more: brushed keys come together with meant ones
    added_after_pause: float = 3.0  # more: what is struck after a pause is meant
    added_in_ornament: float = 0.8
    soft: float = 0.6
    soft_added_relief: float = 2.0  # a brushed key is softer than its neighbours
    trill_relief: float = 2.5  # added notes that alternate quickly
    added_in_trill: float = NEVER  # no more than this, whatever is written near by
    missed_note: float = 3.0
    late_for_onset: float = 0.5  # of the onset before, struck after this one began
    late_seconds: float = 0.25
    skipped_onset: float = 0.7
    late_in_chord_per_second: float = 20.0
    late_in_chord_most: float = 4.0
    chord_window_seconds: float = 0.05
    timing_spread: float = 0.45  # logarithm of tempo, between neighbouring onsets
    first_timing_spread: float = 0.6  # before the tempo is known
    onset_spread_seconds: float = 0.03
    timing_most: float = 3.0  # hesitations are unforeseeable: no more than this
    written_leap: float = 0.7  # every other player takes a repeat, one in two leaves it out
    # Starting anew: how readily, by the seconds waited for longer than the music does. Hands and
    # eyes take their time in seconds, whatever the tempo; fitted to simulated practice takes ...
    shortest_wait_seconds: float = 0.15
    pause_from: float = 1.5  # in multiples of the expected wait
    pause_seconds: float = 0.25  # from here on a jump is weighed even where the note fits
    jump_at_once: float = 8.0  # without any wait: about once in three thousand notes
    jump_after_a_second: float = 1.0
    jump_per_wait: float = 1.6  # less, per e-fold of the wait
    jump_after_long_pause: float = -1.0
    # ... and where to: of ten new starts three are where one began before, two at the beginning of
    # this measure, two within some beats, one in place, the others at other measures.
    landing_here: float = 2.3
    landing_beats: float = 4.2  # to each of about a dozen onsets
    beats_quarters: float = 4.0
    landing_this_measure: float = 1.8
    landing_behind: float = 3.0  # to the measure before
    landing_ahead: float = 3.5  # to the next measure
    landing_farther: float = 1.0  # per e-fold of the distance in measures
    landing_inside: float = 3.0  # more: not at the beginning of a measure
    landing_known: float = 0.8  # where the player began before, all such places together
    passage_quarters: float = 32.0  # what is practised over and over is seldom longer
    passage_farther: float = 2.3  # more, per e-fold of the length
    ended_here_before: float = 2.0  # less: where a passage ended before
    found_again: float = 12.0  # from nowhere to any onset
    other_hands: float = 2.0
    begin_inside: float = 2.0  # a take: not at the beginning of a measure
    begin_one_hand: float = 1.0
    unfinished_note: float = 1.0  # an onset left by a jump before it was complete
    retry_after_slip: float = -2.5  # people stop because a key was wrong
    lost_note: float = 3.2  # a note explained by nothing written
    lost_entry: float = 8.0
    tempo_prior: float = 0.3
    tempo_learning: float = 0.25
    tempo_learning_faster: float = 0.4  # only hesitations mislead, and they are slow
    usual_seconds_per_quarter: float = 0.6
    equal: float = 0.05  # between paths that are told apart by rounding only
    beam: float = 14.0  # a path that costs so much more than the best is given up
    most_paths: int = 250  # the best of them; who is lost is found again by a jump


SUBSTITUTION = {1: 0.0, 2: 0.3, 3: 1.3, 12: 1.0}
"""Extra cost of a wrong key by its distance in semitones: neighbours first, then the octave."""
SUBSTITUTION_ELSE = 3.0
