"""A drill written as notes: its own rhythm with the pitches of the piece.

Long and short notes keep the length of their group as a whole. Where that gives values of their
own (four sixteenths as one long and three short are sixths of the group) the whole group is written
under one number, so that long is three times short to the eye as well. Stops are written as longer
notes with a fermata.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import reduce
from itertools import groupby
from math import ceil, gcd

from companion.analysis.grouping.drills import Drill, DrillStep
from companion.score.writing.snippet import SnippetNote, is_plain, name_of_key

_LONGEST_STOP = Fraction(4)


def drill_as_notes(drill: Drill) -> tuple[SnippetNote, ...]:
    """The steps of a drill as notes to be engraved."""
    names = {note.note_id: note.spelling or name_of_key(note.pitch) for note in drill.notes}
    pitches = {note.note_id: note.pitch for note in drill.notes}
    found: list[SnippetNote] = []
    rows = groupby(drill.steps, key=lambda step: (step.group, step.held))
    for number, ((_, held), row) in enumerate(rows):
        steps = tuple(row)
        values = [_stop(step) for step in steps] if held else None
        tuplet = (1, 1) if held else _tuplet(steps)
        for place, step in enumerate(steps):
            written = values[place] if values else step.duration_quarters * tuplet[0] / tuplet[1]
            ids = sorted(step.note_ids, key=lambda note_id: pitches[note_id])
            found.append(
                SnippetNote(
                    spellings=tuple(dict.fromkeys(names[note_id] for note_id in ids)),
                    written_quarters=written,
                    tuplet=tuplet,
                    beam_group=number,
                    fermata=held,
                )
            )
    return tuple(found)


def _stop(step: DrillStep) -> Fraction:
    """The value of a note to stop on: the longest plain one that is not longer."""
    value = _LONGEST_STOP
    while value > step.duration_quarters:
        value /= 2
    return value


def _tuplet(steps: Sequence[DrillStep]) -> tuple[int, int]:
    """How many notes in the time of how many, (1, 1) where plain values will do."""
    lengths = [step.duration_quarters for step in steps]
    if all(map(is_plain, lengths)):
        return 1, 1
    unit = reduce(_common, lengths)
    plain = Fraction(1)
    while plain >= unit * 2:
        plain /= 2
    while plain < unit:
        plain *= 2
    ratio = unit / plain
    actual, normal = ratio.denominator, ratio.numerator
    units = sum(lengths) / unit
    # six in the time of four rather than twice three in that of two, also where the sixth is a stop
    more = ceil(units / actual)
    return actual * more, normal * more


def _common(one: Fraction, other: Fraction) -> Fraction:
    """The longest value of which both are multiples."""
    return Fraction(
        gcd(one.numerator * other.denominator, other.numerator * one.denominator),
        one.denominator * other.denominator,
    )
