"""What holds for the fingering of any passage."""

from __future__ import annotations

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from companion.analysis.fingering.chords import options
from companion.analysis.fingering.path import cheapest, points_by_step
from companion.analysis.fingering.rules import FingeredHand, Model, may_follow
from companion.analysis.fingering.spans import HandSize, HandSpans
from companion.analysis.fingering.steps import steps_of_hand
from companion.analysis.fingering.suggest import suggest_fingers
from companion.score.model import Hand
from tests.unit.analysis.running_notes import hand_of

HANDS = st.builds(FingeredHand, st.sampled_from(HandSize).map(HandSpans.of), st.sampled_from(Model))
MELODIES = st.lists(st.integers(55, 79), min_size=1, max_size=5)
CHORDS = st.lists(st.integers(60, 75), min_size=2, max_size=4, unique=True).map(sorted)
PASSAGES = st.lists(
    st.one_of(st.integers(55, 79), CHORDS, st.none()), min_size=1, max_size=4
).filter(lambda steps: any(step is not None for step in steps))


def by_trying_everything(asked, steps):
    """The totals of all fingerings that the model allows, rising."""
    totals = []
    for fingers in product(*(options(asked, step) for step in steps)):
        told = points_by_step(asked, steps, fingers)
        totals.append(sum(value for points in told for _, value in points))
    return sorted(totals)


def allowed(asked, steps, fingers):
    pairs = zip(steps, steps[1:], fingers, fingers[1:], strict=False)
    return all(may_follow(asked, a.keys[0], f[0], b.keys[0], g[0]) for a, b, f, g in pairs)


@settings(max_examples=60)
@given(asked=HANDS, pitches=MELODIES)
def test_the_search_finds_what_trying_everything_finds(asked, pitches):
    steps = steps_of_hand(hand_of(pitches), Hand.RIGHT, asked, {}, ())
    totals = []
    for fingers in product(range(1, 6), repeat=len(steps)):
        played = tuple((finger,) for finger in fingers)
        if allowed(asked, steps, played):
            told = points_by_step(asked, steps, played)
            totals.append(sum(value for points in told for _, value in points))
    if not totals:
        assert cheapest(asked, steps, 1)  # the hand moves: see the next property
        return
    found = [way.total for way in cheapest(asked, steps, 6)]
    assert found == sorted(totals)[:6]


@settings(max_examples=40, deadline=None)
@given(asked=HANDS, passage=PASSAGES)
def test_the_search_is_exact_with_chords_and_rests_too(asked, passage):
    steps = steps_of_hand(hand_of(passage), Hand.RIGHT, asked, {}, ())
    found = cheapest(asked, steps, 3)
    told = points_by_step(asked, steps, found[0].fingers)
    assert found[0].total == sum(value for points in told for _, value in points)
    if all(not step.is_single for step in steps):
        assert [way.total for way in found] == by_trying_everything(asked, steps)[: len(found)]


@settings(max_examples=40)
@given(pitches=st.lists(st.integers(48, 84), min_size=1, max_size=12))
def test_an_octave_higher_the_fingers_are_the_same(pitches):
    here = suggest_fingers(hand_of(pitches), Hand.RIGHT, count=2)
    there = suggest_fingers(hand_of([pitch + 12 for pitch in pitches]), Hand.RIGHT, count=2)
    assert [s.in_figures for s in here] == [s.in_figures for s in there]
    assert [s.total for s in here] == [s.total for s in there]


@settings(max_examples=40)
@given(
    pitches=st.lists(st.integers(48, 84), min_size=2, max_size=10),
    places=st.dictionaries(st.integers(0, 9), st.integers(1, 5), max_size=4),
)
def test_set_fingers_are_always_kept(pitches, places):
    chosen = {f"r{place}": finger for place, finger in places.items() if place < len(pitches)}
    kept = suggest_fingers(hand_of(pitches), Hand.RIGHT, chosen=chosen, count=1)[0]
    assert chosen.items() <= dict(kept.fingers).items()
    assert len(kept.fingers) == len(pitches)


@settings(max_examples=40)
@given(pitches=st.lists(st.integers(48, 84), min_size=1, max_size=10))
def test_setting_the_suggested_fingers_changes_nothing(pitches):
    free = suggest_fingers(hand_of(pitches), Hand.RIGHT, count=1)[0]
    kept = suggest_fingers(hand_of(pitches), Hand.RIGHT, chosen=dict(free.fingers), count=3)
    assert kept == (free,)
