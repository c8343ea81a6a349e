"""What returning material says about where sections begin.

Four things are heard as beginnings: the opening comes back at home after something else; other
material comes back; a return goes on in another key, as second themes do; a return is over and
something new begins, as in a coda. What returns also says where it began the first time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from companion.analysis.form.measure_likeness import Floats, upbeat_padding
from companion.analysis.form.rest_points import RestPoint
from companion.analysis.form.returns import Return
from companion.score.model import CueKind, Position, Score
from companion.score.sections.proposal import measures_as_name

_OPENING_RETURN, _OTHER_RETURN, _TRANSPOSED_RETURN = 5.0, 2.5, 2.0
_TURN_OF_KEY, _END_OF_RETURN, _CODA = 3.2, 2.0, 2.0
_OPENING_MEASURES = 2
_FULL_LENGTH = 8
_HALF_CONTRAST = 6.0
_PROJECTED = 0.7
_CLEAR_REST, _SOME_REST = 0.6, 0.4
_THEME_WITHIN = 10
_CODA_BACK, _SHORTEST_CODA = 4, 4
_LATE = 0.5

# likeness of so many measures to the opening that says nothing, and how far one may trust more
_OPENING_WINDOWS = ((2, 0.55, 0.75), (4, 0.5, 1.0), (8, 0.45, 1.0))
_CERTAIN_ABOVE = 0.25
_INSIDE_RETURN = 0.5
_HEARD = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """That a section begins at a measure, how strongly, and why in words."""

    measure: int
    weight: float
    reason: str


def claims_of_returns(
    score: Score, points: Sequence[RestPoint], returns: Sequence[Return], likeness: Floats
) -> tuple[Claim, ...]:
    """Everything that the returns of a piece say about its sections."""
    found = list(_opening_again(score, returns, likeness))
    repeats = [cue.position.measure_index for cue in score.cues if cue.kind is CueKind.REPEAT_END]
    for number, each in enumerate(returns):
        before = returns[number - 1] if number else None
        after = returns[number + 1] if number + 1 < len(returns) else None
        if before is not None and _goes_on(before, each):
            found += _turn_of_key(score, points, before, each)
        else:
            found += _beginning(score, points, each)
        if after is None or not _goes_on(each, after):
            found += _ending(score, points, each, repeats)
    return tuple(found)


def first_whole_measure(score: Score) -> int:
    """1 where the piece begins with an upbeat, otherwise 0."""
    return int(upbeat_padding(score.measures[0]) > 0)


def _goes_on(one: Return, other: Return) -> bool:
    """Whether a return takes up where another leaves off, in another key or after a slip."""
    gap, jump = other.start - one.end, other.source - one.source_end
    return -2 <= gap <= 8 and -4 <= jump <= 8 and abs(gap - jump) <= 4


def _size(each: Return) -> float:
    return min(1.0, each.length / _FULL_LENGTH)


def _contrast(measures_between: int) -> float:
    """How much else there was between a stretch and its return, 0 (none) towards 1."""
    between = max(0, measures_between)
    return between / (between + _HALF_CONTRAST)


def _opening_again(score: Score, returns: Sequence[Return], likeness: Floats) -> Iterator[Claim]:
    """Places where the first measures come back at home, however short and however varied."""
    count = likeness.shape[1]
    first = first_whole_measure(score)
    trust, length = np.zeros(count), np.zeros(count, dtype=int)
    for measures, nothing, share in _OPENING_WINDOWS:
        if first + 2 * measures > count:
            break
        starts = np.arange(first + measures, count - measures + 1)
        like = np.mean(
            [likeness[0, first + place, starts + place] for place in range(measures)], axis=0
        )
        value = share * np.clip((like - nothing) / _CERTAIN_ABOVE, 0, 1)
        better = value > trust[starts]
        trust[starts[better]], length[starts[better]] = value[better], measures
    heard_until = 0
    for start in range(first + 2, count):
        around = trust[max(0, start - 3) : start + 4]
        if not trust[start] or trust[start] < around.max():
            continue
        end = start + int(length[start])
        inside = any(r.start < start < r.end and r.source > _OPENING_MEASURES for r in returns)
        since = max(heard_until, first + int(length[start]))
        weight = _OPENING_RETURN * trust[start] * _contrast(start - since)
        if trust[start] >= _HEARD:
            heard_until = max(heard_until, end)
        yield Claim(
            measure=start,
            weight=float(weight) * (_INSIDE_RETURN if inside else 1),
            reason=f"the opening returns ({_named(score, 0, first + int(length[start]))})",
        )


def _beginning(score: Score, points: Sequence[RestPoint], each: Return) -> Iterator[Claim]:
    contrast = _contrast(each.start - each.source_end)
    where = _named(score, each.source, each.source_end)
    if each.source <= _OPENING_MEASURES and not each.semitones:
        yield Claim(
            measure=max(1, each.start - each.source + first_whole_measure(score)),
            weight=_OPENING_RETURN * _size(each) * contrast,
            reason=f"the opening returns ({where})",
        )
        return
    weight = _TRANSPOSED_RETURN if each.semitones else _OTHER_RETURN
    weight *= _size(each) * contrast
    manner = " in another key" if each.semitones else ""
    yield Claim(
        measure=_snapped(points, each.start, 1, 1),
        weight=weight,
        reason=f"{where} return{manner}",
    )
    yield Claim(
        measure=_snapped(points, each.source, 1, 1),
        weight=_PROJECTED * weight,
        reason=f"what returns in {_named(score, each.start, each.end)} begins",
    )


def _turn_of_key(
    score: Score, points: Sequence[RestPoint], before: Return, each: Return
) -> Iterator[Claim]:
    """A return goes on in another key, as second themes do: that is heard where it rests next."""
    if before.semitones == each.semitones:
        return
    start = _next_rest(points, each)
    if start is None:
        return
    source = start - each.lag
    weight = _TURN_OF_KEY * min(_size(before), _size(each))
    # the same music, so what rests at one place rests at the other
    share = max(points[start].rest, points[source].rest)
    for measure, reason in (
        (start, f"{_named(score, source, each.source_end)} return, now in another key"),
        (source, f"what returns in another key in {_named(score, start, each.end)} begins"),
    ):
        lacking = min(1.0, share) - min(1.0, points[measure].rest)
        yield Claim(measure=measure, weight=weight + 2 * lacking, reason=reason)


def _next_rest(points: Sequence[RestPoint], each: Return) -> int | None:
    """Where the music rests for the next time after a turn of key, here or at the source."""
    lag = each.lag

    def rest(measure: int) -> float:
        return max(points[measure].rest, points[measure - lag].rest)

    first = max(each.start - 2, lag + 1)
    choices = range(first, min(each.start + _THEME_WITHIN, each.end, len(points)))
    clear = next((place for place in choices if rest(place) >= _CLEAR_REST), None)
    if clear is not None:
        return clear
    near = [place for place in choices if place <= each.start + 2]
    best = max(near, key=rest, default=None)
    return best if best is not None and rest(best) >= _SOME_REST else None


def _ending(
    score: Score, points: Sequence[RestPoint], each: Return, repeats: Sequence[int]
) -> Iterator[Claim]:
    if each.end >= len(points) - 1:
        return
    yield Claim(
        measure=_snapped(points, each.end, 1, 1),
        weight=_END_OF_RETURN * _size(each) * _contrast(each.start - each.source_end),
        reason=f"the return of {_named(score, each.source, each.source_end)} is over",
    )
    late = each.end > _LATE * len(points) and each.end + _SHORTEST_CODA <= len(points)
    if late and any(-1 <= repeat - each.source_end <= _CODA_BACK for repeat in repeats):
        yield Claim(
            measure=_snapped(points, each.end, _CODA_BACK, 1),
            weight=_CODA + _END_OF_RETURN,
            reason="what was repeated has come back to its end: a coda begins",
        )


def _snapped(points: Sequence[RestPoint], measure: int, back: int, ahead: int) -> int:
    """The nearby measure line before which the music rests most; distance counts a little."""
    choices = range(max(1, measure - back), min(len(points) - 1, measure + ahead) + 1)
    return max(
        choices,
        key=lambda place: (points[place].rest - 0.1 * abs(place - measure), -place),
        default=measure,
    )


def _named(score: Score, start: int, end: int) -> str:
    return measures_as_name(score, Position(max(0, start)), Position(min(end, len(score.measures))))
