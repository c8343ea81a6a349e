"""The rules of the ergonomic model for one melody: what a fingering costs.

Source: Parncutt, Sloboda, Clarke, Raekallio and Desain 1997, Music Perception 14:341-382. Points
are given for what is awkward; the cheapest fingering is suggested first. The changes of Jacobs 2001
("Refinements to the ergonomic model for keyboard fingering ...", Music Perception 18:505-511) are
there as a choice: distances on the keyboard instead of semitones (an octave is 165 mm), one point a
semitone for all large spans, only the fourth finger weak, no three-four-five rule.

A third form is our own: that of the paper with the strong little finger of Jacobs, and
:data:`THUMB_ON_BLACK_AS_TAUGHT` points instead of one for each thumb on a black key, which teaching
avoids in running notes. Of the fingers that are taught for the scales over two octaves it suggests
75 % (the paper's form 69, Jacobs' 63), and 65 % of the few printed ones in open data (54, 58);
``tests/benchmarks/preparation.py`` prints both.

Conventions
-----------
- Keys are MIDI note numbers *as the right hand sees them*: for the left hand they are mirrored at
  :data:`MIRROR`, which keeps white keys white (D is the middle of the keyboard's symmetry).
- Where notes 1 and 3 of three are the same key the paper is inconsistent about position changes; no
  point is given here when the finger is the same too, and the span rules count otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from companion.analysis.fingering.spans import MEDIUM_HAND, THUMB, HandSpans, Span

MIRROR = 124
"""The sum of a key and its mirror image around D4 (62), the middle of a symmetrical octave."""

OCTAVE_MM = 165.0
"""Width of an octave on the keyboard, as Jacobs 2001 has it."""

THUMB_ON_BLACK_AS_TAUGHT = 5

_BLACK = frozenset((1, 3, 6, 8, 10))


class Model(StrEnum):
    """Which form of the model is used."""

    PARNCUTT = "Parncutt et al. 1997"
    JACOBS = "with the refinements of Jacobs 2001"
    TAUGHT = "adjusted to common teaching"


class Rule(StrEnum):
    """What points are given for. The first twelve are the paper's, the others our own."""

    STRETCH = "stretch"
    SMALL_SPAN = "small span"
    LARGE_SPAN = "large span"
    POSITION_CHANGE = "change of hand position"
    POSITION_SIZE = "size of the change of position"
    WEAK_FINGER = "weak finger"
    THREE_FOUR_FIVE = "fingers 3, 4 and 5 in a row"
    THREE_TO_FOUR = "3 followed by 4"
    FOUR_ON_BLACK = "4 on a black key beside 3 on a white one"
    THUMB_ON_BLACK = "thumb on a black key"
    FIVE_ON_BLACK = "little finger on a black key"
    THUMB_PASSING = "thumb passing"
    HAND_MOVES = "the hand moves"
    SAME_FINGER = "one finger for two keys"
    FINGER_CHANGE = "a held key changes fingers"
    INSIDE_A_GROUP = "a change inside a group"


Points = tuple[tuple[Rule, int], ...]
"""What was given and for what; entries of 0 points are left out."""


@dataclass(frozen=True, slots=True)
class FingeredHand:
    """The hand that is asked: its spans and the form of the model."""

    spans: HandSpans = MEDIUM_HAND
    model: Model = Model.PARNCUTT


def is_black(key: int) -> bool:
    """Whether a key is black; the same for a key and its mirror image."""
    return key % 12 in _BLACK


def mirrored(key: int) -> int:
    """The key as the other hand sees it; its own inverse."""
    return MIRROR - key


def distance(key: int, next_key: int, model: Model) -> int:
    """Interval between two keys in semitones, or in the classes of width of Jacobs 2001.

    A class is a twelfth of an octave wide; black keys are taken to lie midway between their white
    neighbours. C to D and E to F are thus the same distance.
    """
    if model is not Model.JACOBS:
        return next_key - key
    wide = _place_mm(next_key) - _place_mm(key)
    return int(abs(wide) / (OCTAVE_MM / 12) + 0.5) * (1 if wide >= 0 else -1)


def _place_mm(key: int) -> float:
    octave, degree = divmod(key, 12)
    white = (0, 0.5, 1, 1.5, 2, 3, 3.5, 4, 4.5, 5, 5.5, 6)[degree]
    return OCTAVE_MM * (octave + white / 7)


def may_follow(hand: FingeredHand, key: int, finger: int, next_key: int, next_finger: int) -> bool:
    """Whether one finger can follow another within the practical spans."""
    if finger == next_finger:
        return key == next_key
    span = hand.spans.span(finger, next_finger)
    wide = distance(key, next_key, hand.model)
    return span.min_practical <= wide <= span.max_practical


@lru_cache(maxsize=1 << 16)
def note_points(hand: FingeredHand, key: int, finger: int) -> Points:
    """Points of one note by itself."""
    found = []
    weak = (4, 5) if hand.model is Model.PARNCUTT else (4,)
    if finger in weak:
        found.append((Rule.WEAK_FINGER, 1))
    if finger == THUMB and is_black(key):
        taught = hand.model is Model.TAUGHT
        found.append((Rule.THUMB_ON_BLACK, THUMB_ON_BLACK_AS_TAUGHT if taught else 1))
    return tuple(found)


@lru_cache(maxsize=1 << 17)
def pair_points(
    hand: FingeredHand, key: int, finger: int, next_key: int, next_finger: int
) -> Points:
    """Points of two notes that follow each other, besides those of each note by itself."""
    if finger == next_finger:
        return ()
    found = list(span_points(hand, key, finger, next_key, next_finger))
    black, next_black = is_black(key), is_black(next_key)
    if (finger, next_finger) == (3, 4):
        found.append((Rule.THREE_TO_FOUR, 1))
    if ((finger, black), (next_finger, next_black)) in _FOUR_ON_BLACK:
        found.append((Rule.FOUR_ON_BLACK, 1))
    for short, rule in ((THUMB, Rule.THUMB_ON_BLACK), (5, Rule.FIVE_ON_BLACK)):
        if finger == short and black and not next_black:
            found.append((rule, 2))
        if next_finger == short and next_black and not black:
            found.append((rule, 2))
    passing = _thumb_passing(key, finger, next_key, next_finger)
    if passing:
        found.append((Rule.THUMB_PASSING, passing))
    return tuple(found)


def span_points(
    hand: FingeredHand, key: int, finger: int, next_key: int, next_finger: int
) -> Points:
    """Points for the distance of two different fingers (rules 1 to 3)."""
    span = hand.spans.span(finger, next_finger)
    wide = distance(key, next_key, hand.model)
    if finger > next_finger:  # seen from the lower finger, where large is far apart
        span, wide = span.reversed, -wide
    thumb = THUMB in (finger, next_finger)
    large = 1 if thumb or hand.model is Model.JACOBS else 2
    strain = max(0, wide - span.max_comfortable) + max(0, span.min_comfortable - wide)
    points = (
        (Rule.STRETCH, 2 * strain),
        (Rule.SMALL_SPAN, (1 if thumb else 2) * max(0, span.min_relaxed - wide)),
        (Rule.LARGE_SPAN, large * max(0, wide - span.max_relaxed)),
    )
    return tuple(point for point in points if point[1])


@lru_cache(maxsize=1 << 16)
def triple_points(
    hand: FingeredHand, wide: int, fingers: tuple[int, int, int], *, between: bool
) -> Points:
    """Points of three notes that follow each other, besides those of their pairs.

    Parameters
    ----------
    wide
        The distance from the first key to the third.
    between
        Whether the second key lies between the others.
    """
    found = []
    first, middle, last = fingers
    span = hand.spans.span(first, last) if first != last else _SAME
    outside = max(0, wide - span.max_comfortable) + max(0, span.min_comfortable - wide)
    if outside:
        reached = span.min_practical <= wide <= span.max_practical
        full = middle == THUMB and between and not reached
        found.append((Rule.POSITION_CHANGE, 2 if full else 1))
        found.append((Rule.POSITION_SIZE, outside))
    if hand.model is not Model.JACOBS and sorted(fingers) == [3, 4, 5]:
        found.append((Rule.THREE_FOUR_FIVE, 1))
    return tuple(found)


_SAME = Span(0, 0, 0, 0, 0, 0)

_FOUR_ON_BLACK = frozenset((((3, False), (4, True)), ((4, True), (3, False))))


def _thumb_passing(key: int, finger: int, next_key: int, next_finger: int) -> int:
    """Points when the thumb goes under a finger, or a finger over the thumb; else 0."""
    if THUMB not in (finger, next_finger):
        return 0
    thumb_key, other_key = (key, next_key) if finger == THUMB else (next_key, key)
    if thumb_key <= other_key:  # the thumb is on its own side of the finger
        return 0
    if is_black(thumb_key) == is_black(other_key):
        return 1
    return 3 if is_black(thumb_key) else 0
