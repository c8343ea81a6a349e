"""Letters for sections: the same letter where most of a section comes back from an earlier one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from companion.analysis.form.measure_likeness import Floats
from companion.analysis.form.returns import Return

PRIME = "\N{PRIME}"
_MOST_OF_IT = 0.5
_OF_THE_SHORTER = 0.6
_BEGINNING_MEASURES, _BEGINS_ALIKE = 4, 0.6
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def letters_of(
    stretches: Sequence[tuple[int, int]],
    returns: Sequence[Return],
    taken: Sequence[str] = (),
    likeness: Floats | None = None,
) -> tuple[str, ...]:
    """A letter for each section: "A", "B", "A" with a prime for each time that it has come back.

    Parameters
    ----------
    stretches
        First measure of each section and the one behind its last, in order.
    returns
        What comes back in the piece.
    taken
        Letters that mean something else already, such as printed rehearsal marks.
    likeness
        Of the measures; with it, sections that begin alike have one letter, too.
    """
    fresh = (letter for letter in _all_letters() if letter not in taken)
    plain: list[str] = []
    lettered: list[str] = []
    for number, (start, end) in enumerate(stretches):
        origin = _origin(stretches[:number], start, end, returns)
        if origin is None and likeness is not None:
            origin = _alike(stretches[:number], start, end, likeness)
        plain.append(plain[origin] if origin is not None else next(fresh))
        lettered.append(plain[-1] + PRIME * (plain.count(plain[-1]) - 1))
    return tuple(lettered)


def _origin(
    earlier: Sequence[tuple[int, int]], start: int, end: int, returns: Sequence[Return]
) -> int | None:
    """The earlier section that most of a stretch comes back from, None if it is new."""
    best, most = None, 0.0
    for number, (low, high) in enumerate(earlier):
        shared = sum(_shared(each, start, end, low, high) for each in returns)
        long_enough = shared >= _MOST_OF_IT * (end - start) or shared >= _OF_THE_SHORTER * (
            high - low
        )
        if long_enough and shared > most:
            best, most = number, shared
    return best


def _alike(
    earlier: Sequence[tuple[int, int]], start: int, end: int, likeness: Floats
) -> int | None:
    """The first earlier section that begins with the same music in whatever key, None if none."""
    for number, (low, high) in enumerate(earlier):
        count = min(_BEGINNING_MEASURES, end - start, high - low)
        places = np.arange(count)
        like = likeness[:, low + places, start + places].mean(axis=1).max()
        if count > 1 and like >= _BEGINS_ALIKE:
            return number
    return None


def _shared(each: Return, start: int, end: int, low: int, high: int) -> int:
    """Measures of a return that lie in a stretch and come from another one."""
    first = max(each.start, start, low + each.lag)
    last = min(each.end, end, high + each.lag)
    return max(0, last - first)


def _all_letters() -> Iterator[str]:
    for round_ in ("", *_LETTERS):
        for letter in _LETTERS:
            yield round_ + letter
