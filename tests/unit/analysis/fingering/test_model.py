"""The ergonomic model against the totals that the paper prints, and against trying everything.

Parncutt et al. 1997, Music Perception 14:341-382: the totals of the examples from Czerny op. 821
are quoted from the paper by secondary sources; the counts of fingerings and the scale were worked
out from the rules by a program of its own.
"""

from __future__ import annotations

from itertools import pairwise, product

import pytest

from companion.analysis.fingering.rules import (
    FingeredHand,
    Model,
    Rule,
    distance,
    is_black,
    may_follow,
    mirrored,
    note_points,
    pair_points,
)
from companion.analysis.fingering.spans import MEDIUM_SPANS, HandSize, HandSpans, Span
from companion.analysis.fingering.suggest import check_fingers, suggest_fingers
from companion.score.model import Hand
from tests.unit.analysis.running_notes import hand_of

CZERNY_54 = (61, 65, 63, 66, 65, 68, 66)
CZERNY_1 = (76, 79, 77, 79, 76, 77, 74, 76)
SCALE = (60, 62, 64, 65, 67, 69, 71, 72)
MEDIUM = FingeredHand()


def total_of(pitches, fingers):
    by_id = {f"r{place}": int(finger) for place, finger in enumerate(fingers)}
    return check_fingers(hand_of(pitches), Hand.RIGHT, by_id).total


def all_fingerings(pitches):
    for fingers in product(range(1, 6), repeat=len(pitches)):
        steps = pairwise(zip(pitches, fingers, strict=True))
        if all(may_follow(MEDIUM, *now, *then) for now, then in steps):
            yield "".join(map(str, fingers))


def suggested(pitches, count=4, **options):
    found = suggest_fingers(hand_of(pitches), Hand.RIGHT, count=count, **options)
    return [(suggestion.in_figures.replace(" ", ""), suggestion.total) for suggestion in found]


PUBLISHED = {
    "1323132": 12,
    "1324132": 12,
    "2412132": 13,
    "1212132": 14,
    "1213242": 14,
    "1323142": 14,
    "1323242": 15,
    "2413242": 15,
    "2435132": 15,
    "1213232": 16,
}


@pytest.mark.parametrize(("fingers", "total"), PUBLISHED.items())
def test_published_totals_of_czerny_54(fingers, total):
    assert total_of(CZERNY_54, fingers) == total


def test_the_ten_cheapest_of_czerny_54_are_those_of_the_paper():
    last_is_two = {"r6": 2}
    found = suggested(CZERNY_54, count=9, chosen=last_is_two)
    assert dict(found).items() <= PUBLISHED.items()
    assert [total for _, total in found] == sorted(PUBLISHED.values())[:9]


def test_czerny_54_has_as_many_fingerings_as_the_rules_allow():
    assert sum(f.endswith("2") for f in all_fingerings(CZERNY_54)) == 999


@pytest.mark.parametrize(("fingers", "total"), [("24342313", 6), ("13231213", 7)])
def test_published_totals_of_czerny_1(fingers, total):
    assert total_of(CZERNY_1, fingers) == total


def test_what_the_six_points_of_czerny_1_are_for():
    by_id = {f"r{place}": int(finger) for place, finger in enumerate("24342313")}
    told = check_fingers(hand_of(CZERNY_1), Hand.RIGHT, by_id)
    assert {reason.rule: reason.points for reason in told.reasons} == {
        Rule.SMALL_SPAN: 1,
        Rule.POSITION_CHANGE: 1,
        Rule.POSITION_SIZE: 1,
        Rule.WEAK_FINGER: 2,
        Rule.THREE_TO_FOUR: 1,
    }
    assert told.in_words.startswith("6 points: weak finger 2, ")


def test_the_c_major_scale_is_fingered_as_it_is_taught():
    assert suggested(SCALE)[:2] == [("12312345", 15), ("12412345", 20)]
    assert total_of(SCALE, "12341234") == 23


def test_the_c_major_scale_has_1803_fingerings_and_one_cheapest():
    totals = [total_of(SCALE, fingers) for fingers in all_fingerings(SCALE)]
    assert len(totals) == 1803
    assert totals.count(15) == totals.count(min(totals)) == 1


def test_the_left_hand_mirrors_the_right():
    # D4 is the middle of the keyboard's symmetry: the mirrored scale has the same totals
    right = suggest_fingers(hand_of(SCALE), Hand.RIGHT)
    mirror = [mirrored(pitch) for pitch in SCALE]
    left = suggest_fingers(hand_of(mirror, staff=2), Hand.LEFT)
    assert [s.in_figures for s in left] == [s.in_figures for s in right]
    assert [s.total for s in left] == [s.total for s in right]


@pytest.mark.parametrize("key", range(21, 109))
def test_a_mirrored_key_keeps_its_colour(key):
    assert is_black(mirrored(key)) == is_black(key)


def test_the_table_rises_in_every_row():
    for span in MEDIUM_SPANS.values():
        limits = [getattr(span, name) for name in Span.__slots__]
        assert limits == sorted(limits)


def test_the_table_follows_the_regularities_that_the_paper_names():
    # comfortable is 2 semitones inside practical, upwards for all pairs, downwards for the thumb
    for (finger, _), span in MEDIUM_SPANS.items():
        assert span.max_practical - span.max_comfortable == 2
        assert span.min_comfortable - span.min_practical == (2 if finger == 1 else 0)


@pytest.mark.parametrize("size", HandSize)
def test_spans_of_every_hand_rise_and_reverse(size):
    spans = HandSpans.of(size)
    for finger, other in MEDIUM_SPANS:
        span = spans.span(finger, other)
        limits = [getattr(span, name) for name in Span.__slots__]
        assert limits == sorted(limits)
        assert spans.span(other, finger) == span.reversed
        assert span.reversed.reversed == span


def test_a_larger_hand_reaches_further_and_never_pays_more():
    tenth = ((60, 76),)
    sizes = [FingeredHand(HandSpans.of(size)) for size in HandSize]
    totals = [suggest_fingers(hand_of(tenth), Hand.RIGHT, asked=asked)[0].total for asked in sizes]
    assert totals == sorted(totals, reverse=True)
    assert totals[0] > totals[-1]


def test_a_hand_is_set_by_its_widest_stretch():
    assert HandSpans.reaching(15) == HandSpans()
    assert HandSpans.reaching(12).span(1, 5).max_practical == 12
    assert HandSpans.reaching(40).with_thumb == 4


@pytest.mark.parametrize(
    ("key", "next_key", "classes"),
    [(60, 72, 12), (64, 65, 2), (60, 62, 2), (60, 61, 1), (61, 63, 2), (72, 60, -12), (60, 67, 7)],
)
def test_distances_on_the_keyboard(key, next_key, classes):
    # Jacobs 2001: an octave is 165 mm, a class a twelfth of it; E-F is as wide as C-D
    assert distance(key, next_key, Model.JACOBS) == classes


def test_the_refinements_leave_the_little_finger_strong():
    refined = FingeredHand(model=Model.JACOBS)
    assert note_points(MEDIUM, 60, 5) == ((Rule.WEAK_FINGER, 1),)
    assert note_points(refined, 60, 5) == ()
    assert note_points(refined, 60, 4) == ((Rule.WEAK_FINGER, 1),)


def test_the_refinements_give_one_point_a_semitone_for_every_large_span():
    refined = FingeredHand(model=Model.JACOBS)
    assert dict(pair_points(MEDIUM, 60, 2, 63, 3))[Rule.LARGE_SPAN] == 2
    assert dict(pair_points(refined, 60, 2, 63, 3)).get(Rule.LARGE_SPAN, 0) <= 1


@pytest.mark.parametrize(
    ("keys", "fingers", "points"),
    [
        ((64, 65), (3, 1), 1),  # thumb under, white to white
        ((66, 67), (3, 1), 0),  # thumb on white under a finger on black
        ((65, 66), (3, 1), 3),  # thumb on black under a finger on white
        ((60, 62), (1, 2), 0),  # no passing
    ],
)
def test_points_of_a_thumb_passing(keys, fingers, points):
    given = dict(pair_points(MEDIUM, keys[0], fingers[0], keys[1], fingers[1]))
    assert given.get(Rule.THUMB_PASSING, 0) == points


@pytest.mark.parametrize(
    ("keys", "fingers", "points"),
    [
        ((66, 68), (1, 2), 1),  # both black: only the thumb itself
        ((66, 67), (1, 2), 3),
        ((64, 66, 67), (2, 1, 2), 5),
    ],
)
def test_points_of_a_thumb_on_a_black_key(keys, fingers, points):
    by_id = {f"r{place}": finger for place, finger in enumerate(fingers)}
    told = check_fingers(hand_of(keys), Hand.RIGHT, by_id)
    assert sum(r.points for r in told.reasons if r.rule is Rule.THUMB_ON_BLACK) == points


def test_the_taught_form_keeps_the_thumb_off_black_keys():
    # B flat major: the paper's form puts the thumb on black keys, teaching does not
    scale = (58, 60, 62, 63, 65, 67, 69, 70)
    taught = FingeredHand(model=Model.TAUGHT)
    (found,) = suggest_fingers(hand_of(scale), Hand.RIGHT, asked=taught, count=1)
    thumbs = [int(note_id[1:]) for note_id, finger in found.fingers if finger == 1]
    assert not any(is_black(scale[place]) for place in thumbs)


def test_the_taught_form_fingers_the_c_major_scale_as_the_paper_does():
    taught = FingeredHand(model=Model.TAUGHT)
    assert suggested(SCALE, asked=taught)[0][0] == "12312345"
