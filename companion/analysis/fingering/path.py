"""The cheapest fingerings of a row of steps, exactly, by dynamic programming.

Points are given for one step, two steps and three steps, so the way to a pair of successive
fingerings is all that has to be remembered (a Viterbi search of second order; with several best
ways kept for each pair it finds the several best fingerings of the whole).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from companion.analysis.fingering.chords import (
    Fingers,
    Step,
    chord_points,
    move_points,
    near,
    options,
    total,
)
from companion.analysis.fingering.rules import (
    FingeredHand,
    Points,
    Rule,
    distance,
    may_follow,
    pair_points,
    triple_points,
)
from companion.analysis.fingering.spans import FINGERS, THUMB

Costs = NDArray[np.float64]

CHANGE_INSIDE_A_GROUP = 4
"""Our own points for a thumb passing or change of position inside a group of the pianist."""

_NEVER = np.inf


@dataclass(frozen=True, slots=True)
class Way:
    """A fingering of a row of steps: the fingers of each, and its total."""

    fingers: tuple[Fingers, ...]
    total: int


def cheapest(hand: FingeredHand, steps: Sequence[Step], count: int = 1) -> tuple[Way, ...]:
    """Find the cheapest fingerings.

    Parameters
    ----------
    count
        How many; fewer come back where there are not so many.

    Returns
    -------
    tuple of Way
        Cheapest first; of equal ones the first in the order of the fingers.
    """
    if not steps:
        return ()
    choices = [options(hand, step) for step in steps]
    # best[k, before, now]: the k-th cheapest way to end with these two fingerings
    first = _step_costs(hand, steps[0], choices[0])
    best: Costs = np.full((count, 1, len(choices[0])), _NEVER)
    best[0, 0] = first
    came: list[NDArray[np.int64]] = []
    for at in range(1, len(steps)):
        own = _step_costs(hand, steps[at], choices[at])
        more = _triple_costs(hand, steps[at - 2 : at + 1]) if at > 1 else None
        joined = _joined(best, _pair_costs(hand, steps, choices, at) + own, more)
        if not np.isfinite(joined).any():
            # no finger reaches the next key from here: the hand has to move
            moved = _pair_costs(hand, steps, choices, at, loose=True) + own
            joined = _joined(best, moved, more)
        ways, before, now, after = joined.shape
        flat = joined.reshape(ways * before, now, after)
        if count == 1:
            chosen = flat.argmin(axis=0)[None]
        else:
            chosen = np.argsort(flat, axis=0, kind="stable")[:count]
        best = np.take_along_axis(flat, chosen, axis=0)
        if len(chosen) < count:
            missing = np.full((count - len(chosen), now, after), _NEVER)
            best = np.concatenate((best, missing))
            chosen = np.concatenate((chosen, np.zeros(missing.shape, np.int64)))
        came.append(chosen)
    return _read_back(best, came, choices, count)


def _read_back(
    best: Costs,
    came: Sequence[NDArray[np.int64]],
    choices: Sequence[tuple[Fingers, ...]],
    count: int,
) -> tuple[Way, ...]:
    found = []
    for flat in np.argsort(best, axis=None, kind="stable")[:count].tolist():
        rank, before, now = (int(k) for k in np.unravel_index(flat, best.shape))
        cost = float(best[rank, before, now])
        if not np.isfinite(cost):
            break
        path = [now]
        for at in range(len(came), 0, -1):
            path.append(before)
            earlier = len(choices[at - 2]) if at > 1 else 1
            rank, earliest = divmod(int(came[at - 1][rank, before, now]), earlier)
            before, now = earliest, before
        path.reverse()
        fingers = tuple(choices[at][chosen] for at, chosen in enumerate(path))
        found.append(Way(fingers, round(cost)))
    return tuple(found)


def points_by_step(
    hand: FingeredHand, steps: Sequence[Step], fingers: Sequence[Fingers]
) -> tuple[Points, ...]:
    """What a fingering is given points for, step by step; those of pairs at their later step."""
    told = []
    for at, step in enumerate(steps):
        points = list(chord_points(hand, step.keys, step.held, fingers[at]))
        if at:
            points += step_to_step(hand, steps[at - 1], fingers[at - 1], step, fingers[at])
        if at > 1 and _is_melody(steps[at - 2 : at + 1]):
            points += _three(hand, steps[at - 2 : at + 1], fingers[at - 2 : at + 1])
        told.append(tuple(points))
    return tuple(told)


def step_to_step(
    hand: FingeredHand, step: Step, fingers: Fingers, following: Step, next_fingers: Fingers
) -> Points:
    """Points from one step to the next."""
    if _is_published(hand, step, following):
        key, next_key = step.keys[0], following.keys[0]
        finger, next_finger = fingers[0], next_fingers[0]
        if may_follow(hand, key, finger, next_key, next_finger):
            points = pair_points(hand, key, finger, next_key, next_finger)
            if not following.new_group and _thumb_crosses(next_key - key, finger, next_finger):
                points = (*points, (Rule.INSIDE_A_GROUP, CHANGE_INSIDE_A_GROUP))
            return points
    return move_points(
        step.keys,
        fingers,
        following.keys,
        next_fingers,
        following.held,
        after_rest=following.after_rest,
    )


def _is_published(hand: FingeredHand, step: Step, following: Step) -> bool:
    """Whether the model itself speaks about two steps: single notes, no rest, no wide leap."""
    if not (step.is_single and following.is_single) or following.after_rest:
        return False
    return _some_fingers_reach(hand, step.keys[0] % 12, following.keys[0] - step.keys[0])


@lru_cache(maxsize=4096)
def _some_fingers_reach(hand: FingeredHand, key: int, up: int) -> bool:
    return any(may_follow(hand, key, f, key + up, g) for f in FINGERS for g in FINGERS)


def _is_melody(steps: Sequence[Step]) -> bool:
    return all(step.is_single for step in steps) and not any(s.after_rest for s in steps[1:])


def _thumb_crosses(up: int, finger: int, next_finger: int) -> bool:
    """Whether the thumb passes under or a finger over it; ``up`` is positive for a rising step."""
    if finger == next_finger:
        return False
    return (finger == THUMB and up < 0) or (next_finger == THUMB and up > 0)


def _three(hand: FingeredHand, steps: Sequence[Step], fingers: Sequence[Fingers]) -> Points:
    played = (fingers[0][0], fingers[1][0], fingers[2][0])
    return _melody_points(*_three_keys(hand, steps), played)


def _three_keys(
    hand: FingeredHand, steps: Sequence[Step]
) -> tuple[FingeredHand, int, int, int, bool]:
    """What the points of three single notes depend on besides the fingers."""
    first, middle, last = (step.keys[0] for step in steps)
    inside = not steps[1].new_group and not steps[2].new_group
    wide = distance(first, last, hand.model)
    return hand, wide, _sign(middle - first), _sign(last - middle), inside


def _melody_points(
    hand: FingeredHand,
    wide: int,
    up: int,
    later_up: int,
    inside: bool,
    fingers: tuple[int, int, int],
) -> Points:
    points = triple_points(hand, wide, fingers, between=up * later_up > 0)
    crossed = _thumb_crosses(up, fingers[0], fingers[1]) or _thumb_crosses(
        later_up, fingers[1], fingers[2]
    )
    if inside and not crossed and any(rule is Rule.POSITION_CHANGE for rule, _ in points):
        return (*points, (Rule.INSIDE_A_GROUP, CHANGE_INSIDE_A_GROUP))
    return points


def _sign(number: int) -> int:
    return (number > 0) - (number < 0)


def _joined(best: Costs, arrive: Costs, more: Costs | None) -> Costs:
    """Costs by (rank, before, now, after): the ways so far and one step more."""
    joined: Costs = best[:, :, :, None] + arrive[None, None]
    return joined if more is None else joined + more[None]


def _step_costs(hand: FingeredHand, step: Step, choices: tuple[Fingers, ...]) -> Costs:
    return _step_table(hand, near(step.keys), step.held, choices)


@lru_cache(maxsize=1 << 14)
def _step_table(
    hand: FingeredHand,
    keys: tuple[int, ...],
    held: tuple[bool, ...],
    choices: tuple[Fingers, ...],
) -> Costs:
    return np.array([total(chord_points(hand, keys, held, f)) for f in choices], float)


def _pair_costs(
    hand: FingeredHand,
    steps: Sequence[Step],
    choices: Sequence[tuple[Fingers, ...]],
    at: int,
    *,
    loose: bool = False,
) -> Costs:
    step, following = steps[at - 1], steps[at]
    down = step.keys[0] // 12 * 12
    return _pair_table(
        hand,
        tuple(key - down for key in step.keys),
        tuple(key - down for key in following.keys),
        following.held,
        following.after_rest,
        following.new_group,
        choices[at - 1],
        choices[at],
        loose,
    )


@lru_cache(maxsize=1 << 14)
def _pair_table(
    hand: FingeredHand,
    keys: tuple[int, ...],
    next_keys: tuple[int, ...],
    next_held: tuple[bool, ...],
    after_rest: bool,
    new_group: bool,
    choices: tuple[Fingers, ...],
    next_choices: tuple[Fingers, ...],
    loose: bool,
) -> Costs:
    step = Step(keys, (False,) * len(keys), (), False, False, ())
    following = Step(next_keys, next_held, (), after_rest, new_group, ())
    table = np.empty((len(choices), len(next_choices)))
    strict = _is_published(hand, step, following) and not loose
    for j, fingers in enumerate(choices):
        for k, next_fingers in enumerate(next_choices):
            if strict and not may_follow(hand, keys[0], fingers[0], next_keys[0], next_fingers[0]):
                table[j, k] = _NEVER
            else:
                table[j, k] = total(step_to_step(hand, step, fingers, following, next_fingers))
    return table


def _triple_costs(hand: FingeredHand, steps: Sequence[Step]) -> Costs | None:
    """Points of three single notes for all their fingers; None where the model does not hold."""
    if not _is_melody(steps):
        return None
    whole = _triple_table(*_three_keys(hand, steps))
    if not any(any(step.locked) for step in steps):
        return whole
    rows = [[FINGERS.index(f[0]) for f in options(hand, step)] for step in steps]
    chosen: Costs = whole[np.ix_(*rows)]
    return chosen


@lru_cache(maxsize=1 << 14)
def _triple_table(hand: FingeredHand, wide: int, up: int, later_up: int, inside: bool) -> Costs:
    table = np.empty((5, 5, 5))
    for first, middle, last in product(FINGERS, repeat=3):
        points = _melody_points(hand, wide, up, later_up, inside, (first, middle, last))
        table[first - 1, middle - 1, last - 1] = total(points)
    return table
