"""Following earlier material through the piece: what returns, from where, how much changed.

Each measure is either new or the return of an earlier one, moved by some semitones. The likeliest
course through the piece (a shortest path; Viterbi 1967) holds on to a return as long as it can:
going on with the next measure costs nothing, a small slip (a measure left out or put in, another
transposition) a little, beginning anew more.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from companion.analysis.form.measure_likeness import PITCH_CLASSES, Floats

NEAREST_MEASURES = 4
"""Repetitions closer than this are figures, not returns."""
SHORTEST_RETURN = 3
EXACT_FROM = 0.93

_LIKE_FROM = 0.55
_SLIP_COST, _JUMP_COST, _BEGIN_COST = 1.0, 3.0, 1.5
_LONGEST_SLIP = 3
_NEVER = -1e9


class Kind(StrEnum):
    """How a return differs from what it returns to."""

    EXACT = "exact"
    TRANSPOSED = "transposed"
    VARIED = "varied"


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """A stretch of measures that brings back an earlier one.

    Parameters
    ----------
    start, end
        First measure index, and the one behind the last.
    source
        The measure that comes back with ``start``.
    semitones
        How far up it is moved, 0 to 11.
    likeness
        Mean over its measures, 0 to 1.
    """

    start: int
    end: int
    source: int
    semitones: int
    likeness: float

    @property
    def length(self) -> int:
        """Measures that return."""
        return self.end - self.start

    @property
    def source_end(self) -> int:
        """The measure behind the last that comes back."""
        return self.source + self.length

    @property
    def lag(self) -> int:
        """Measures between a measure and its return."""
        return self.start - self.source

    @property
    def kind(self) -> Kind:
        """Exact, transposed or varied; what is both transposed and varied counts as varied."""
        if self.likeness < EXACT_FROM:
            return Kind.VARIED
        return Kind.TRANSPOSED if self.semitones else Kind.EXACT


def find_returns(likeness: Floats) -> tuple[Return, ...]:
    """The returns of a piece, in order; no two overlap."""
    course = _course(likeness)
    found: list[Return] = []
    start = 0
    while start < len(course):
        state = course[start]
        end = start + 1
        if state is not None:
            while end < len(course) and course[end] == (state[0], state[1] + end - start):
                end += 1
            if end - start >= SHORTEST_RETURN:
                places = np.arange(end - start)
                values = likeness[state[0], state[1] + places, start + places]
                found.append(
                    Return(
                        start=start,
                        end=end,
                        source=state[1],
                        semitones=state[0],
                        likeness=round(float(values.mean()), 3),
                    )
                )
        start = end
    return tuple(found)


State = tuple[int, int]
Whole = npt.NDArray[np.int64]
Step = tuple[npt.NDArray[np.int8], Whole, Whole, int, bool]


def _course(likeness: Floats) -> list[State | None]:
    """Semitones and earlier measure of each measure, None for a new one."""
    count = likeness.shape[1]
    measures = np.arange(count)
    shape = (PITCH_CLASSES, count)
    held, new = np.full(shape, _NEVER), 0.0
    steps: list[Step] = []
    for measure in range(1, count):
        gain = np.where(
            measures <= measure - NEAREST_MEASURES, likeness[:, :, measure] - _LIKE_FROM, _NEVER
        )
        going_on = np.full(shape, _NEVER)
        going_on[:, 1:] = held[:, :-1]
        best, best_semitones = held.max(axis=0), held.argmax(axis=0)
        near, near_from = _nearest(best)
        anywhere, place = float(held.max()), int(held.argmax())
        options = np.stack(
            [
                going_on,
                np.broadcast_to(near - _SLIP_COST, shape),
                np.full(shape, anywhere - _JUMP_COST),
                np.full(shape, new - _BEGIN_COST),
            ]
        )
        choice = options.argmax(axis=0).astype(np.int8)  # kept for each measure: small
        from_return = anywhere - _BEGIN_COST > new
        steps.append((choice, near_from, best_semitones, place, from_return))
        new = max(new, anywhere - _BEGIN_COST)
        held = options.max(axis=0) + gain
    last = None if not count or new >= held.max() else divmod(int(held.argmax()), count)
    return _traced(steps, last, count)


def _nearest(best: npt.NDArray[np.float64]) -> tuple[npt.NDArray[np.float64], Whole]:
    """Per earlier measure the best of those just before it, and which that is."""
    count = len(best)
    near, near_from = best.copy(), np.arange(count)
    for back in range(1, _LONGEST_SLIP + 1):
        moved = np.full(count, _NEVER)
        moved[back:] = best[: max(0, count - back)]
        better = moved > near
        near = np.where(better, moved, near)
        near_from = np.where(better, np.arange(count) - back, near_from)
    return near, near_from


def _traced(steps: list[Step], last: State | None, count: int) -> list[State | None]:
    course: list[State | None] = [None] * count
    state = last
    for measure in range(count - 1, 0, -1):
        course[measure] = state
        choice, near_from, best_semitones, place, from_return = steps[measure - 1]
        if state is None:
            state = divmod(place, count) if from_return else None
            continue
        semitones, earlier = state
        match int(choice[semitones, earlier]):
            case 0:
                state = (semitones, earlier - 1)
            case 1:
                before = int(near_from[earlier])
                state = (int(best_semitones[before]), before)
            case 2:
                state = divmod(place, count)
            case _:
                state = None
    return course
