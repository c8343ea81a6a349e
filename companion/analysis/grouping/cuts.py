"""Dividing a run into groups: leading to the beat, beat by beat, by hand position, by pattern.

Every function returns the steps with which groups begin (the first is 0) and why, in words.

Groups that *lead to the beat* end with the note on the beat, so that the notes between two beats
are heard as going to the second one (the upbeat view of rhythm: Cooper and Meyer 1960, Thurmond
1982, both from memory; common practice in teaching). A *hand position* holds as long as all notes
stay within a span: a fifth for five fingers on five keys, an octave for the open hand (common
practice); where fingers are known, a position ends where the thumb passes or the hand jumps. A
*pattern* is a figure that comes again in the same or in similar steps; the division is the one
that needs the shortest description (minimum description length, Rissanen 1978).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from companion.analysis.grouping.boundaries import boundary_strengths

FIVE_FINGER_SPAN = 7
OPEN_HAND_SPAN = 12
LONGEST_FIGURE, SHORTEST_FIGURE = 12, 3

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_SPANS = {
    0: "one key",
    1: "a semitone",
    2: "a second",
    3: "a third",
    4: "a third",
    5: "a fourth",
    6: "a tritone",
    7: "a fifth",
    8: "a sixth",
    9: "a sixth",
    10: "a seventh",
    11: "a seventh",
    12: "an octave",
}


@dataclass(frozen=True, slots=True)
class Cuts:
    """Where groups begin, and why each of them is one."""

    begins: tuple[int, ...]
    reasons: tuple[str, ...]


def in_words(count: int) -> str:
    """A small number in words: "four"; figures above ten."""
    return _NUMBERS[count] if 0 <= count < len(_NUMBERS) else str(count)


def cut_leading(on_beat: Sequence[bool], lands: bool) -> Cuts:
    """Cut behind every note on the beat.

    Parameters
    ----------
    on_beat
        Per step.
    lands
        Whether a note follows the run at once: the last group then leads to it.
    """
    count = len(on_beat)
    begins = [0, *(k + 1 for k in range(count - 1) if on_beat[k])]
    reasons = []
    for first, end in zip(begins, [*begins[1:], count], strict=True):
        if end - first == 1 and on_beat[first]:
            reasons.append("the note on the beat, where the run sets out")
        elif on_beat[end - 1]:
            reasons.append(f"{in_words(end - first - 1)} notes lead to the beat")
        elif lands:
            reasons.append(f"{in_words(end - first)} notes lead to the note behind the run")
        else:
            reasons.append("the end of the run, before a rest")
    return Cuts(tuple(begins), tuple(reasons))


def cut_by_beat(on_beat: Sequence[bool]) -> Cuts:
    """Cut before every note on the beat."""
    begins = [0, *(k for k in range(1, len(on_beat)) if on_beat[k])]
    reasons = [
        "the notes of one beat" if on_beat[first] else "the notes before the first beat"
        for first in begins
    ]
    return Cuts(tuple(begins), tuple(reasons))


def cut_by_position(pitches: Sequence[Sequence[int]], span_semitones: int) -> Cuts:
    """Extend each group as long as its notes stay within a span.

    Parameters
    ----------
    pitches
        MIDI note numbers of each step.
    """
    begins, reasons = [0], []
    low, high = min(pitches[0]), max(pitches[0])
    for step in range(1, len(pitches)):
        lowest, highest = min(low, *pitches[step]), max(high, *pitches[step])
        if highest - lowest > span_semitones:
            begins.append(step)
            reasons.append(_lies_in(low, high))
            lowest, highest = min(pitches[step]), max(pitches[step])
        low, high = lowest, highest
    reasons.append(_lies_in(low, high))
    return Cuts(tuple(begins), tuple(reasons))


def cut_by_fingers(
    pitches: Sequence[Sequence[int]], fingers: Sequence[Sequence[int]], *, left: bool
) -> Cuts:
    """Cut where the thumb passes under, a finger passes over the thumb, or the hand jumps.

    Parameters
    ----------
    pitches, fingers
        Per step, low to high; a step without fingers (an empty sequence) moves nothing.
    left
        Whether the left hand plays.
    """
    begins, reasons, why = [0], [], "the first hand position"
    for step in range(1, len(pitches)):
        moved = _hand_moves(
            pitches[step - 1], fingers[step - 1], pitches[step], fingers[step], left=left
        )
        if moved:
            begins.append(step)
            reasons.append(why)
            why = moved
    return Cuts(tuple(begins), (*reasons, why))


def _hand_moves(
    pitches: Sequence[int],
    fingers: Sequence[int],
    next_pitches: Sequence[int],
    next_fingers: Sequence[int],
    *,
    left: bool,
) -> str:
    """Why a new hand position begins with the second step; empty where the hand stays."""
    if not fingers or not next_fingers:
        return ""
    sign = -1 if left else 1
    key, finger = sign * pitches[0], fingers[0]
    next_key, next_finger = sign * next_pitches[0], next_fingers[0]
    up, later = next_key - key, next_finger - finger
    if up == 0:
        return ""
    if up * later > 0:
        return "" if abs(up) <= FIVE_FINGER_SPAN + 2 else "a new hand position after a leap"
    if next_finger == 1 and up > 0:
        return "a new hand position: the thumb passes under"
    if finger == 1 and up < 0:
        return f"a new hand position: finger {next_finger} passes over the thumb"
    return "a new hand position: the hand is put down anew"


def _lies_in(low: int, high: int) -> str:
    name = _SPANS.get(high - low)
    within = f"within {name}" if name else f"within {high - low} semitones"
    return f"possible hand position: all keys {within}"


def cut_by_pattern(
    pitches: Sequence[Sequence[int]],
    steps_on_staff: Sequence[int],
    on_beat: Sequence[bool],
) -> Cuts:
    """Find figures that come again, and cut before each of them.

    Parameters
    ----------
    pitches
        MIDI note numbers of each step; the highest one speaks for it.
    steps_on_staff
        Height of each step on the staff, counted in lines and spaces, so that a figure is the same
        figure on another degree of the scale.
    on_beat
        Per step: figures tend to begin on beats.
    """
    count = len(pitches)
    tops = [max(step) for step in pitches]
    times = [float(k) for k in range(count)]
    strength = boundary_strengths(tops, times, [k + 1.0 for k in times])
    moves = (0, *(steps_on_staff[k] - steps_on_staff[k - 1] for k in range(1, count)))
    prices = [
        -_BORDER_WEIGHT * strength[k] - (_BEAT_WEIGHT if on_beat[k] else 0.0) for k in range(count)
    ]
    lengths = _shortest_description(moves, prices)
    return _pattern_cuts(moves, lengths)


_BORDER_WEIGHT = 0.5
_BEAT_WEIGHT = 2.0
_FIGURE_COST = 1.5  # to say that a figure begins, and how long it is
_AGAIN_COST = 0.5  # to say that it is the figure before, from another note
_EARLIER_COST = 1.5  # to say which of the earlier figures it is
_SAME_SHAPE_COST = 0.25  # a note, where only the direction of the step is the same
_LONG_COST = 1.0  # a note more than eight of something new: too much to grasp at once


def _shortest_description(moves: Sequence[int], prices: Sequence[float]) -> list[int]:
    """Lengths of the figures that together take the least to describe."""
    count = len(moves)
    best: list[dict[int, float]] = [{} for _ in range(count + 1)]
    came: dict[tuple[int, int], int] = {}
    best[0][0] = 0.0
    seen: dict[tuple[int, ...], int] = {}  # the end of the first place where steps stood
    for end in range(1, count + 1):
        for length in range(min(SHORTEST_FIGURE, end), min(LONGEST_FIGURE, end) + 1):
            begin = end - length
            steps = tuple(moves[begin + 1 : end])
            alone = _FIGURE_COST + length + _LONG_COST * max(0, length - 8)
            if seen.setdefault(steps, end) <= begin:
                alone = min(alone, _EARLIER_COST)
            for length_before, cost in best[begin].items():
                more = alone
                if length == length_before:
                    more = min(alone, _again(moves, begin, length))
                total = cost + more + prices[begin]
                if total < best[end].get(length, float("inf")) - 1e-12:
                    best[end][length] = total
                    came[end, length] = length_before
    end, length = count, min(best[count], key=best[count].__getitem__)
    lengths = []
    while end > 0:
        lengths.append(length)
        end, length = end - length, came[end, length]
    lengths.reverse()
    return lengths


def _again(moves: Sequence[int], begin: int, length: int) -> float:
    """What it takes to describe a figure by the one before it, of the same length."""
    likeness = _likeness(moves, begin, length)
    if likeness == _SAME_STEPS:
        return _AGAIN_COST
    if likeness == _SAME_SHAPE:
        return _AGAIN_COST + 0.5 + _SAME_SHAPE_COST * length
    return float("inf")


_SAME_STEPS, _SAME_SHAPE, _NOT_ALIKE = 2, 1, 0


def _likeness(moves: Sequence[int], begin: int, length: int) -> int:
    """How much a figure is like the one before it."""
    here = moves[begin + 1 : begin + length]
    there = moves[begin - length + 1 : begin]
    if here == there:
        return _SAME_STEPS
    alike = all((a > 0) == (b > 0) and (a < 0) == (b < 0) for a, b in zip(here, there, strict=True))
    return _SAME_SHAPE if alike else _NOT_ALIKE


def _pattern_cuts(moves: Sequence[int], lengths: Sequence[int]) -> Cuts:
    begins, reasons, begin = [], [], 0
    seen: set[tuple[int, ...]] = set()
    for number, length in enumerate(lengths):
        steps = tuple(moves[begin + 1 : begin + length])
        beside = number > 0 and lengths[number - 1] == length
        likeness = _likeness(moves, begin, length) if beside else _NOT_ALIKE
        if likeness == _SAME_STEPS:
            reasons.append("the same figure again")
        elif steps in seen and length > 1:
            reasons.append("a figure from before")
        elif likeness == _SAME_SHAPE:
            reasons.append("the same shape with other steps")
        else:
            reasons.append(f"a new figure of {in_words(length)} note{'s' if length > 1 else ''}")
        begins.append(begin)
        seen.add(steps)
        begin += length
    return Cuts(tuple(begins), tuple(reasons))
