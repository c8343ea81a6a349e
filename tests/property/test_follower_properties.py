"""What must hold of the follower for any score and whatever is played (hypothesis)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.listening.decoding import decoder as decoder_module
from companion.listening.decoding.decoder import PlaceDecoder
from companion.listening.decoding.score_onsets import lay_out_onsets
from companion.listening.follower import Follower, HeardNote
from companion.listening.notes import Verdict
from tests.property.test_matching_properties import exactly, scores, takes

SLOW = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])

ANY_KEYS = st.lists(
    st.builds(
        lambda wait, pitch, velocity: (wait, HeardNote(0.0, 0.1, pitch, velocity)),
        st.sampled_from([0.0, 0.001, 0.02, 0.1, 0.3, 0.7, 2.0, 60.0]),
        st.integers(0, 127),
        st.integers(1, 127),
    ),
    max_size=60,
)


def follow(notes, take):
    follower = Follower(notes)
    return [follower.hear(note) for note in take]


def told(places):
    """All that is said, rounded to far less than anybody sees."""
    return [
        place
        and (
            place.onset_quarters,
            round(place.confidence, 6),
            place.hands,
            place.event,
            place.verdict,
            place.score_index,
            place.ambiguous_with,
            place.quarters_per_minute and round(place.quarters_per_minute, 4),
        )
        for place in places
    ]


@SLOW
@given(scores(fewest=12))
def test_an_exact_run_through_is_followed_to_its_end(notes):
    places = follow(notes, exactly(notes))
    assert all(place is not None for place in places)
    assert places[-1].onset_quarters == notes[-1].onset_quarters


@SLOW
@given(scores(), ANY_KEYS)
def test_whatever_keys_are_struck_the_follower_goes_on_and_says_nothing_impossible(notes, keys):
    follower, seconds = Follower(notes), 0.0
    onsets = {note.onset_quarters for note in notes}
    for wait, key in keys:
        seconds += wait
        place = follower.hear(replace(key, onset_seconds=seconds))
        if place is None:
            continue
        assert 0.0 <= place.confidence <= 1.0
        assert place.onset_quarters in onsets
        assert place.quarters_per_minute is None or place.quarters_per_minute > 0
        if place.verdict is Verdict.RIGHT:
            assert notes[place.score_index].pitch == key.pitch
            assert notes[place.score_index].onset_quarters == place.onset_quarters
        if place.verdict is Verdict.WRONG:
            assert notes[place.score_index].pitch != key.pitch


@SLOW
@given(st.data(), st.integers(-1000, 1000))
def test_names_of_notes_and_the_time_of_day_change_no_place(data, shift):
    notes = data.draw(scores(most=20))
    take = data.draw(takes(notes))
    renamed = [replace(note, note_id=f"x{index * 7}") for index, note in enumerate(notes)]
    # Whole binary fractions of a second, so that shifting them loses nothing.
    take = [replace(note, onset_seconds=round(note.onset_seconds * 512) / 512) for note in take]
    later = [replace(note, onset_seconds=note.onset_seconds + shift) for note in take]
    assert told(follow(notes, take)) == told(follow(renamed, later))


def paths_after_each(decoder, take):
    """States, costs and moves after each note, those that are near."""
    found = []
    for note in take:
        decoder.hear(note.onset_seconds, note.pitch, note.velocity)
        near = decoder.active_costs < 8.0
        states, costs = decoder.active[near], decoder.active_costs[near]
        ways = [decoder.steps.way_to(int(state)) for state in states]
        found.append(
            (decoder.best, sorted(zip(states.tolist(), costs.round(6).tolist(), ways, strict=True)))
        )
    return found


@SLOW
@given(st.data(), st.booleans())
def test_few_paths_in_plain_numbers_are_the_same_as_in_arrays(data, starts_with_slips):
    notes = data.draw(scores())
    take = data.draw(takes(notes))
    onsets = lay_out_onsets(notes)
    decoders = [PlaceDecoder(onsets, starts_with_slips=starts_with_slips) for _ in range(2)]
    in_numbers = paths_after_each(decoders[0], take)
    few, decoder_module.FEW = decoder_module.FEW, 0
    try:
        in_arrays = paths_after_each(decoders[1], take)
    finally:
        decoder_module.FEW = few
    assert in_numbers == in_arrays


@SLOW
@given(st.data())
def test_new_starts_that_are_not_looked_at_would_not_have_mattered(data):
    notes = data.draw(scores())
    take = data.draw(takes(notes))
    onsets = lay_out_onsets(notes)
    pruned, unpruned = PlaceDecoder(onsets), PlaceDecoder(onsets)
    unpruned._jumps.landings.least = -np.inf
    assert paths_after_each(pruned, take) == paths_after_each(unpruned, take)
