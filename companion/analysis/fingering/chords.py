"""Chords, held notes and leaps: our own extension of the model, which knows single notes only.

The idea is that of Al Kasimi, Nichols and Raphael 2005/2007: a cost within each chord (vertical)
and a cost from one chord to the next (horizontal). The figures are our own choice, in the same
points:

- *Within* a chord each pair of neighbouring keys counts by rules 1 to 3 of the model, and the
  outer pair of three or more by rule 1.
- *From* step to step, where a chord, a held note, a rest or a leap beyond every practical span is
  involved, the travel of the hand counts: its place is the mean over the fingers of the key less
  the relaxed distance of that finger from the thumb. Less than 2 semitones are free, up to 7 are
  half a change of position (1), more a whole one (2), and each semitone beyond the free two 1 more,
  as rules 4 and 5 count them. During a rest half of it. One finger for two different keys in a row
  counts 1, another finger for the same key 1, and 4 while the key is held.
- A held note keeps its place in the hand as long as hand and note can be held together.
- More keys than fingers: a finger may take two neighbouring keys, as thumbs do.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, combinations_with_replacement, pairwise, product

from companion.analysis.fingering.rules import (
    FingeredHand,
    Points,
    Rule,
    distance,
    note_points,
    span_points,
)
from companion.analysis.fingering.spans import FINGERS

RELAXED_FROM_THUMB = (0.0, 3.0, 5.0, 7.0, 8.5)
"""Semitones from the thumb to each finger of a relaxed hand: the middle of the relaxed spans."""

FREE_TRAVEL, HALF_CHANGE = 2.0, 7.0
WIDEST_DOUBLE_KEYS = 2
MOST_KEYS = 7
MOST_OPTIONS = 24

Fingers = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """What one hand does at one moment, as the right hand sees it.

    Parameters
    ----------
    keys
        Rising; held keys among them.
    held
        Per key whether it has been down since an earlier step.
    locked
        Per key the finger that the pianist has set, 0 for none.
    after_rest
        Whether the hand was off the keys before.
    new_group
        Whether a group of the pianist begins here.
    note_ids
        Per key.
    doubled
        Notes of a second voice on a key that goes down: the id and the place of the key.
    """

    keys: tuple[int, ...]
    held: tuple[bool, ...]
    locked: tuple[int, ...]
    after_rest: bool
    new_group: bool
    note_ids: tuple[str, ...]
    doubled: tuple[tuple[str, int], ...] = ()

    @property
    def is_single(self) -> bool:
        """Whether one key goes down and no other is held: what the published model treats."""
        return len(self.keys) == 1


def options(hand: FingeredHand, step: Step) -> tuple[Fingers, ...]:
    """The ways to finger a step, locked fingers honoured; never empty."""
    return _options(hand, near(step.keys), step.locked)


@lru_cache(maxsize=1 << 14)
def _options(hand: FingeredHand, keys: tuple[int, ...], locked: Fingers) -> tuple[Fingers, ...]:
    count = len(keys)
    found: list[Fingers]
    if count > MOST_KEYS:
        # more than a hand can strike, a reduction perhaps: fingers by their order, no more
        even = (1 + round(4 * number / (count - 1)) for number in range(count))
        return (tuple(lock or finger for lock, finger in zip(locked, even, strict=True)),)
    if count <= len(FINGERS):
        found = [f for f in combinations(FINGERS, count) if _keeps(f, locked)]
        found = [f for f in found if _within_reach(hand, keys, f)] or found
    else:
        found = [
            f
            for f in combinations_with_replacement(FINGERS, count)
            if _keeps(f, locked) and _doubles_fit(keys, f)
        ]
    if not found and any(locked):
        # crossed or doubled fingers, but the pianist says so
        choices = [(finger,) if finger else FINGERS for finger in locked]
        found = list(product(*choices))
    if not found:
        found = list(combinations_with_replacement(FINGERS, count))
    if len(found) > MOST_OPTIONS:
        found.sort(key=lambda f: total(chord_points(hand, keys, (False,) * count, f)))
        found = found[:MOST_OPTIONS]
    return tuple(found)


def near(keys: tuple[int, ...]) -> tuple[int, ...]:
    """The same keys in the lowest octave: what counts is their distance and their colour."""
    down = keys[0] // 12 * 12
    return tuple(key - down for key in keys)


def _keeps(fingers: Fingers, locked: Fingers) -> bool:
    return all(not lock or lock == finger for finger, lock in zip(fingers, locked, strict=True))


def _within_reach(hand: FingeredHand, keys: tuple[int, ...], fingers: Fingers) -> bool:
    for (key, finger), (next_key, next_finger) in combinations(
        list(zip(keys, fingers, strict=True)), 2
    ):
        if distance(key, next_key, hand.model) > hand.spans.span(finger, next_finger).max_practical:
            return False
    return True


def _doubles_fit(keys: tuple[int, ...], fingers: Fingers) -> bool:
    alike = (
        (key, next_key)
        for (key, finger), (next_key, next_finger) in pairwise(zip(keys, fingers, strict=True))
        if finger == next_finger
    )
    return all(next_key - key <= WIDEST_DOUBLE_KEYS for key, next_key in alike)


@lru_cache(maxsize=1 << 16)
def chord_points(
    hand: FingeredHand, keys: tuple[int, ...], held: tuple[bool, ...], fingers: Fingers
) -> Points:
    """Points of a step by itself: its new notes, and the distances of its fingers."""
    found: list[tuple[Rule, int]] = []
    for key, finger, is_held in zip(keys, fingers, held, strict=True):
        if not is_held:
            found.extend(note_points(hand, key, finger))
    played = list(zip(keys, fingers, strict=True))
    for (key, finger), (next_key, next_finger) in pairwise(played):
        if finger != next_finger:
            found.extend(span_points(hand, key, finger, next_key, next_finger))
    if len(keys) > 2 and fingers[0] != fingers[-1]:
        outer = span_points(hand, keys[0], fingers[0], keys[-1], fingers[-1])
        found.extend(point for point in outer if point[0] is Rule.STRETCH)
    return tuple(found)


def move_points(
    keys: tuple[int, ...],
    fingers: Fingers,
    next_keys: tuple[int, ...],
    next_fingers: Fingers,
    next_held: tuple[bool, ...],
    *,
    after_rest: bool,
) -> Points:
    """Points from one step to the next where the published model does not hold."""
    found = []
    travel = abs(_place(next_keys, next_fingers) - _place(keys, fingers))
    if travel >= FREE_TRAVEL:
        points = (1 if travel < HALF_CHANGE else 2) + int(travel - FREE_TRAVEL)
        points = points // 2 if after_rest else points
        if points:
            found.append((Rule.HAND_MOVES, points))
    before = dict(zip(keys, fingers, strict=True))
    by_finger = dict(zip(fingers, keys, strict=True))
    same = change = 0
    for key, finger, is_held in zip(next_keys, next_fingers, next_held, strict=True):
        if key in before:
            if before[key] != finger:
                change += 4 if is_held else 1
        elif not after_rest and finger in by_finger:
            same += 1
    if same:
        found.append((Rule.SAME_FINGER, same))
    if change:
        found.append((Rule.FINGER_CHANGE, change))
    return tuple(found)


def _place(keys: tuple[int, ...], fingers: Fingers) -> float:
    apart = sum(
        key - RELAXED_FROM_THUMB[finger - 1] for key, finger in zip(keys, fingers, strict=True)
    )
    return apart / len(keys)


def total(points: Points) -> int:
    """The sum of points."""
    return sum(value for _, value in points)
